"""Field types of the duty sheet: a quantity as written becomes a number in our inner unit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict

from recommender import quantities
from recommender.errors import UnitError
from recommender.quantities import Dimension


@dataclass(frozen=True, slots=True)
class Range:
    """A quantity that a field takes: its dimension and the bounds, in the inner unit."""

    dimension: Dimension
    low: float
    high: float
    low_open: bool = True

    def read(self, value: Any) -> float:
        """The number in the inner unit; ValueError with a message for the user."""
        try:
            number = quantities.quantity(value, self.dimension, "")
        except UnitError as error:
            raise ValueError(f"{error.problem} {error.remedy}") from None
        if not self.low <= number <= self.high or (self.low_open and number == self.low):
            raise ValueError(f"{value!r} is outside {self.in_words}. {self._what_to_do(value, number)}")
        return number

    @property
    def in_words(self) -> str:
        """The allowed range, "more than 0 and up to 2000 mm"."""
        low = f"more than {self.low:g} and up to" if self.low_open else f"{self.low:g} to"
        return f"the range allowed ({low} {self.high_in_words})"

    @property
    def high_in_words(self) -> str:
        """The upper bound in a unit that suits its size, "1000 kN"."""
        unit, size = _LARGE_UNITS.get(self.dimension.name, (self.dimension.inner_symbol, 1.0))
        return f"{self.high / size:.0f} {unit}"

    def _what_to_do(self, value: Any, number: float) -> str:
        if self.dimension is quantities.TEMPERATURE:
            return _temperature_advice(str(value), number)
        if number < 0:
            return "Leave the minus sign away; directions have their own field."
        if number > self.high or 0 < number < self.low:
            return f"Check the figure and the unit; it reads as {number:g} {self.dimension.inner_symbol}."
        return f"Write a {self.dimension.name} such as {self.dimension.example}."


_LARGE_UNITS = {
    "force": ("kN", 1e3), "torque": ("kN·m", 1e6), "energy": ("kJ", 1e6), "mass": ("t", 1e6),
    "time": ("years", 31556952.0),
}  # fmt: skip


def _temperature_advice(text: str, celsius: float) -> str:
    """Someone who writes 450 °C probably read a thermometer in °F or K."""
    figure = text.split("°")[0].split()[0]
    if text.strip().endswith("K"):
        return f"{figure} K is {celsius:.0f} °C. Write the temperature itself, such as 35 °C, not a rise."
    in_fahrenheit = (celsius - 32) / 1.8
    if celsius > 0:
        return (
            f"Was it °F or K? {celsius:g} °F is {in_fahrenheit:.0f} °C and {celsius:g} K is "
            f"{celsius - 273.15:.0f} °C. No plastic in the tables bears more."
        )
    return "Write the temperature of the place, such as -20 °C."


_LENGTH = Range(quantities.LENGTH, 0.0, 2000.0)
_SIZE = Range(quantities.LENGTH, 0.1, 2000.0, low_open=False)  # finer than any nozzle draws a line
_NOZZLE = Range(quantities.LENGTH, 0.1, 2.0, low_open=False)
_GAP = Range(quantities.LENGTH, 0.0, 2000.0, low_open=False)
_FORCE = Range(quantities.FORCE, 0.0, 1e6)
_TORQUE = Range(quantities.TORQUE, 0.0, 1e8)
_PRESSURE = Range(quantities.PRESSURE, 0.0, 100.0)
_ENERGY = Range(quantities.ENERGY, 0.0, 1e7)
_MASS = Range(quantities.MASS, 0.0, 1e6)
_DURATION = Range(quantities.TIME, 0.0, 100 * 31556952.0)
_TEMPERATURE = Range(quantities.TEMPERATURE, -60.0, 400.0, low_open=False)
_ANGLE = Range(quantities.ANGLE, 0.0, 360.0)
_SPEED = Range(quantities.SPEED, 0.0, 1e5)
_SHARE = Range(quantities.SHARE, 0.0, 100.0)

Length = Annotated[float, BeforeValidator(_LENGTH.read), _LENGTH]
Size = Annotated[float, BeforeValidator(_SIZE.read), _SIZE]
NozzleDiameter = Annotated[float, BeforeValidator(_NOZZLE.read), _NOZZLE]
Gap = Annotated[float, BeforeValidator(_GAP.read), _GAP]
Force = Annotated[float, BeforeValidator(_FORCE.read), _FORCE]
Torque = Annotated[float, BeforeValidator(_TORQUE.read), _TORQUE]
Pressure = Annotated[float, BeforeValidator(_PRESSURE.read), _PRESSURE]
Energy = Annotated[float, BeforeValidator(_ENERGY.read), _ENERGY]
Mass = Annotated[float, BeforeValidator(_MASS.read), _MASS]
Duration = Annotated[float, BeforeValidator(_DURATION.read), _DURATION]
Temperature = Annotated[float, BeforeValidator(_TEMPERATURE.read), _TEMPERATURE]
Angle = Annotated[float, BeforeValidator(_ANGLE.read), _ANGLE]
RotationalSpeed = Annotated[float, BeforeValidator(_SPEED.read), _SPEED]
Share = Annotated[float, BeforeValidator(_SHARE.read), _SHARE]

PLACES_ON_A_MEMBER = ("middle", "end", "spread")


def _read_position(value: Any) -> float | str:
    if isinstance(value, str) and value.strip().lower() in PLACES_ON_A_MEMBER:
        return value.strip().lower()
    if isinstance(value, str) and not any(sign.isdigit() for sign in value):
        raise ValueError(
            f"{value[:40]!r} is not known. Write middle, end, spread or a distance such as 20 mm."
        )
    return _GAP.read(value)


Position = Annotated[float | str, BeforeValidator(_read_position)]


def _plain_fact(value: Any) -> Any:
    """A fact as truth value, number, word or list of words; "yes" and "no" are truth values."""
    if isinstance(value, bool) or value is None:
        return _refused_fact(value) if value is None else value
    if isinstance(value, int | float):
        return float(value)
    if isinstance(value, str):
        return {"yes": True, "true": True, "no": False, "false": False}.get(value.strip().lower(), value)
    if isinstance(value, list) and all(isinstance(item, str) for item in value):
        return value
    return _refused_fact(value)


def _refused_fact(value: Any) -> Any:
    raise ValueError(f"{value!r:.60} is not a fact. Write yes, no, a figure, a word or a list of words.")


Fact = Annotated[bool | float | str | list[str], BeforeValidator(_plain_fact)]


class SheetPart(BaseModel):
    """Base of every part of a duty sheet: no unknown keys, no change after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_max_length=2000, allow_inf_nan=False)

    def sizes_agree(self) -> bool:
        """Whether the checks between fields still hold; a copy with changed fields has not run them."""
        try:
            for validator in type(self).__pydantic_decorators__.model_validators.values():
                if validator.info.mode == "after":
                    validator.func(self)
        except ValueError:
            return False
        return True

    def _must_be_smaller(self, small: str, large: str, remedy: str = "Correct one of the two.") -> None:
        """ValueError unless the field `small` is smaller than the field `large`; both are lengths."""
        low, high = getattr(self, small), getattr(self, large)
        if low >= high:
            raise ValueError(f"{small} ({low:g} mm) must be smaller than {large} ({high:g} mm). {remedy}")
