"""Field types of the duty sheet: a quantity as written becomes a number in our inner unit."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict

from recommender import quantities
from recommender.errors import UnitError
from recommender.quantities import Dimension


def _reader(dimension: Dimension, low: float, high: float, low_open: bool = True) -> Callable[[Any], float]:
    def read(value: Any) -> float:
        try:
            number = quantities.quantity(value, dimension, "")
        except UnitError as error:
            raise ValueError(f"{error.problem} {error.remedy}") from None
        if number < low or number > high or (low_open and number == low):
            raise ValueError(
                f"{value!r} is outside {low:g} to {high:g} {dimension.inner_symbol}. "
                f"Write a {dimension.name} such as {dimension.example}."
            )
        return number

    return read


Length = Annotated[float, BeforeValidator(_reader(quantities.LENGTH, 0.0, 2000.0))]
Gap = Annotated[float, BeforeValidator(_reader(quantities.LENGTH, 0.0, 2000.0, low_open=False))]
Force = Annotated[float, BeforeValidator(_reader(quantities.FORCE, 0.0, 1e6))]
Torque = Annotated[float, BeforeValidator(_reader(quantities.TORQUE, 0.0, 1e8))]
Pressure = Annotated[float, BeforeValidator(_reader(quantities.PRESSURE, 0.0, 100.0))]
Energy = Annotated[float, BeforeValidator(_reader(quantities.ENERGY, 0.0, 1e7))]
Mass = Annotated[float, BeforeValidator(_reader(quantities.MASS, 0.0, 1e6))]
Duration = Annotated[float, BeforeValidator(_reader(quantities.TIME, 0.0, 3.2e9))]
Temperature = Annotated[float, BeforeValidator(_reader(quantities.TEMPERATURE, -60.0, 400.0, low_open=False))]
Angle = Annotated[float, BeforeValidator(_reader(quantities.ANGLE, 0.0, 360.0))]
RotationalSpeed = Annotated[float, BeforeValidator(_reader(quantities.SPEED, 0.0, 1e5))]
Share = Annotated[float, BeforeValidator(_reader(quantities.SHARE, 0.0, 100.0))]


class SheetPart(BaseModel):
    """Base of every part of a duty sheet: no unknown keys, no change after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_max_length=2000, allow_inf_nan=False)
