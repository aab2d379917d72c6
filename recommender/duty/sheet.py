"""The duty sheet as a whole."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, PlainValidator

from recommender.duty.fields import Fact, Length, NozzleDiameter, Share, SheetPart, Temperature
from recommender.duty.forms import form_from
from recommender.duty.loads import Load

Consequence = Literal["no_harm", "nuisance", "minor_injury", "serious_injury", "death", "unknown"]
Trust = Literal["own_tested_spool", "known_type", "label_only"]
Favour = Literal["balanced", "fast", "light", "cheap", "strong"]
Warming = Literal[
    "sun", "behind_glass", "closed_air", "parked_car", "attic", "roof", "motor", "lamp", "hob", "dishwasher",
    "hot_water", "heater", "reflected_sun",
]  # fmt: skip

Food = Literal[
    "none", "dry", "moist", "fatty", "acidic", "alcoholic", "hot", "hot_fatty",
    "raw_meat", "raw_egg", "raw_fish", "baby_food",
]  # fmt: skip


class Place(SheetPart):
    """Where the part lives. Temperatures are of the air; rises of the surface are added from the rest."""

    usual_temperature: Temperature = Field(default=23.0, description="air on a usual day")
    peak_temperature: Temperature | None = Field(default=None, description="air on the hottest day or hour")
    lowest_temperature: Temperature | None = Field(default=None, description="air on the coldest day")
    surface_temperature: Temperature | None = Field(
        default=None, description="hottest surface of the part, if you measured it; no rise is added then"
    )
    outdoors: bool = Field(default=False, description="out in sun and rain")
    water: Literal["dry", "humid", "wet", "immersed"] = Field(
        default="dry", description="how wet the part gets"
    )
    warmed_by: tuple[Warming, ...] = Field(default=(), description="what warms the part above the air")
    colour: Literal["light", "dark", "unknown"] = Field(
        default="unknown", description="dark parts get hotter in sun"
    )
    chemicals: tuple[str, ...] = Field(
        default=(), max_length=20, description="oils, cleaners, fuels that touch it"
    )
    near_flame: bool = Field(default=False, description="close to a flame or something that can burn it")


class Contact(SheetPart):
    """What the part touches."""

    food: Food = Field(default="none", description="food that touches the part")
    food_reuse: Literal["single", "repeated"] = Field(
        default="repeated", description="used once or again with food"
    )
    animal_food: bool = Field(default=False, description="the food is for animals only")
    skin: Literal["none", "brief", "prolonged"] = Field(
        default="none", description="how long it touches skin"
    )
    electrical: Literal["none", "low_voltage", "mains"] = Field(
        default="none", description="live parts it touches"
    )
    voltage_v: float | None = Field(
        default=None, ge=0, le=1e6, description="voltage in volts, as a plain figure"
    )
    battery: Literal["none", "lithium", "other"] = Field(default="none", description="battery it holds")
    fluid_under_pressure: Literal["none", "air", "gas", "steam", "water", "liquid", "fuel"] = Field(
        default="none", description="what presses from inside"
    )


class People(SheetPart):
    """Who could be hurt and who uses the part."""

    if_it_breaks: Consequence = Field(
        default="minor_injury", description="the worst that happens when it breaks"
    )
    below: Literal["nothing", "floor", "goods", "people"] = Field(
        default="nothing", description="what is below it"
    )
    holds_person: bool = Field(default=False, description="carries the weight of a person")
    youngest_user_years: float = Field(
        default=18, ge=0, le=120, description="age of the youngest user, years"
    )
    is_toy: bool = Field(default=False, description="made for play")


class Limits(SheetPart):
    """Limits on movement."""

    deflection: Length | None = Field(default=None, description="how far the part may give under the load")
    strain: Share | None = Field(default=None, description="how much the plastic may stretch")


class Duty(SheetPart):
    """What a part must do: the whole sheet."""

    part: str = Field(min_length=1, max_length=200, description="name of the part")
    purpose: str = Field("", description="what it is for, in your own words; read for dangers")
    notes: str = Field("", description="anything else; read for dangers too")
    form: Annotated[Any, PlainValidator(form_from)] = Field(description="shape and sizes, see below")
    loads: tuple[Load, ...] = Field(min_length=1, max_length=20, description="list of load cases")
    place: Place = Field(default=Place(), description="where the part lives")
    contact: Contact = Field(default=Contact(), description="what the part touches")
    people: People = Field(default=People(), description="who could be hurt")
    limits: Limits = Field(default=Limits(), description="limits on movement")
    uses: tuple[str, ...] = Field(default=(), max_length=20, description="uses by name; read for dangers")
    claims: tuple[Literal["food_safe", "flame_retardant", "waterproof", "load_rated"], ...] = Field(
        default=(), description="what you would like to promise to others"
    )
    hand_over: Literal["self", "given", "sold"] = Field(default="self", description="who gets the part")
    market: Literal["EU", "US", "UK", "other"] = Field(default="other", description="where it is sold")
    tests_done: bool = Field(default=False, description="the part itself passed a load test")
    material_trust: Trust = Field(default="known_type", description="how well you know the plastic")
    printer: str | None = Field(default=None, description="printer class or your own profile")
    filaments: tuple[str, ...] = Field(
        default=(), max_length=60, description="plastics at hand; all when left out"
    )
    nozzle: NozzleDiameter | None = Field(default=None, description="nozzle diameter to use")
    favour: Favour = Field(default="balanced", description="what to prefer among what is strong enough")
    facts: dict[str, Fact] = Field(
        default_factory=dict, max_length=60, description="further facts that rules ask for, by name"
    )

    def said(self, field: str) -> bool:
        """Whether the sheet itself gives `field` ("people.if_it_breaks") rather than leaving the default."""
        holder: Any = self
        *path, last = field.split(".")
        for name in path:
            if name not in holder.model_fields_set:
                return False
            holder = getattr(holder, name)
        return last in holder.model_fields_set

    @property
    def peak_air_c(self) -> float:
        """Hottest air, °C; the usual temperature where no peak is given."""
        peak = self.place.peak_temperature
        return max(self.place.usual_temperature, peak if peak is not None else self.place.usual_temperature)
