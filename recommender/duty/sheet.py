"""The duty sheet as a whole."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field, model_validator

from recommender.duty.fields import Length, Share, SheetPart, Temperature
from recommender.duty.forms import FORMS, form_class
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

    usual_temperature: Temperature = 23.0
    peak_temperature: Temperature | None = None
    lowest_temperature: Temperature | None = None
    surface_temperature: Temperature | None = None
    outdoors: bool = False
    water: Literal["dry", "humid", "wet", "immersed"] = "dry"
    warmed_by: tuple[Warming, ...] = ()
    colour: Literal["light", "dark", "unknown"] = "unknown"
    chemicals: tuple[str, ...] = Field(default=(), max_length=20)
    near_flame: bool = False


class Contact(SheetPart):
    """What the part touches."""

    food: Food = "none"
    food_reuse: Literal["single", "repeated"] = "repeated"
    animal_food: bool = False
    skin: Literal["none", "brief", "prolonged"] = "none"
    electrical: Literal["none", "low_voltage", "mains"] = "none"
    voltage_v: float | None = Field(default=None, ge=0, le=1e6)
    battery: Literal["none", "lithium", "other"] = "none"
    fluid_under_pressure: Literal["none", "air", "gas", "steam", "water", "liquid", "fuel"] = "none"


class People(SheetPart):
    """Who could be hurt and who uses the part."""

    if_it_breaks: Consequence = "minor_injury"
    below: Literal["nothing", "floor", "goods", "people"] = "nothing"
    holds_person: bool = False
    youngest_user_years: float = Field(default=18, ge=0, le=120)
    is_toy: bool = False


class Limits(SheetPart):
    """Limits on movement."""

    deflection: Length | None = None
    strain: Share | None = None


class Duty(SheetPart):
    """What a part must do: the whole sheet."""

    part: str = Field(min_length=1, max_length=200)
    purpose: str = ""
    notes: str = ""
    form: Any
    loads: tuple[Load, ...] = Field(min_length=1, max_length=20)
    place: Place = Place()
    contact: Contact = Contact()
    people: People = People()
    limits: Limits = Limits()
    uses: tuple[str, ...] = Field(default=(), max_length=20)
    claims: tuple[Literal["food_safe", "flame_retardant", "waterproof", "load_rated"], ...] = ()
    hand_over: Literal["self", "given", "sold"] = "self"
    market: Literal["EU", "US", "UK", "other"] = "other"
    tests_done: bool = False
    material_trust: Trust = "known_type"
    printer: str | None = None
    filaments: tuple[str, ...] = Field(default=(), max_length=60)
    nozzle: Length | None = None
    favour: Favour = "balanced"
    facts: dict[str, bool | float | str | list[str]] = Field(default_factory=dict, max_length=60)

    @model_validator(mode="before")
    @classmethod
    def _form_by_its_kind(cls, sheet: Any) -> Any:
        if not isinstance(sheet, dict) or "form" not in sheet:
            return sheet
        form = sheet["form"]
        kind = form.get("kind") if isinstance(form, dict) else None
        if not isinstance(kind, str) or kind not in FORMS:
            raise ValueError(f"form: kind must be one of {', '.join(FORMS)}.")
        return sheet

    @model_validator(mode="after")
    def _form_is_checked(self) -> Duty:
        if isinstance(self.form, dict):
            object.__setattr__(self, "form", form_class(self.form["kind"]).model_validate(self.form))
        return self

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
