"""Quantities as people write them ("4 kg", "12 lbf", "1.5 N·m", "1/4 in", "140 °F") to our inner units.

Inside, everything is N, mm, N mm, MPa, °C, s, g and N mm for energy. The inner units and their plain
decimal multiples are read here at once; anything else goes to the units library, which is loaded only
then because it costs start-up time.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from recommender.errors import UnitError

STANDARD_GRAVITY = 9.80665  # m/s^2, exact by definition (CGPM 1901)


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of quantity: its inner unit, the units read without the library, and an example."""

    name: str
    inner: str
    factors: dict[str, float]
    example: str
    weight_of_mass: bool = False

    @property
    def inner_symbol(self) -> str:
        """The inner unit as a person writes it."""
        return {"newton": "N", "newton * mm": "N·mm", "gram": "g", "second": "s", "megapascal": "MPa",
                "degC": "°C", "degree": "deg", "percent": "%"}.get(self.inner, self.inner)  # fmt: skip


LENGTH = Dimension(
    "length", "mm", {"mm": 1.0, "cm": 10.0, "m": 1000.0, "um": 1e-3, "in": 25.4, "inch": 25.4}, "80 mm"
)
FORCE = Dimension(
    "force",
    "newton",
    {"n": 1.0, "newton": 1.0, "newtons": 1.0, "kg": STANDARD_GRAVITY, "g": STANDARD_GRAVITY / 1000},
    "50 N (or 5 kg for a hung mass)",
    weight_of_mass=True,
)
TORQUE = Dimension(
    "torque", "newton * mm", {"n*mm": 1.0, "nmm": 1.0, "n*m": 1000.0, "nm": 1000.0, "n*cm": 10.0}, "1.5 N·m"
)
ENERGY = Dimension("energy", "newton * mm", {"j": 1000.0, "joule": 1000.0, "mj": 1.0}, "2 J")
MASS = Dimension("mass", "gram", {"g": 1.0, "kg": 1000.0}, "0.5 kg")
TIME = Dimension(
    "time",
    "second",
    {
        "s": 1.0, "min": 60.0, "h": 3600.0, "hour": 3600.0, "hours": 3600.0, "day": 86400.0, "days": 86400.0,
        "week": 604800.0, "weeks": 604800.0, "month": 2629746.0, "months": 2629746.0,
        "year": 31556952.0, "years": 31556952.0,
    },
    "2 years",
)  # fmt: skip
PRESSURE = Dimension("pressure", "megapascal", {"mpa": 1.0, "kpa": 1e-3, "n/mm^2": 1.0}, "0.02 MPa")
TEMPERATURE = Dimension("temperature", "degC", {"c": 1.0, "degc": 1.0}, "35 °C")
ANGLE = Dimension("angle", "degree", {"deg": 1.0, "degree": 1.0, "degrees": 1.0}, "90 deg")
SPEED = Dimension("rotational speed", "rpm", {"rpm": 1.0, "1/min": 1.0}, "60 rpm")
SHARE = Dimension("share", "percent", {"%": 1.0, "percent": 1.0}, "2 %")

_NUMBER = r"[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"^\s*(?P<number>{_NUMBER})(?:\s*/\s*(?P<under>\d+))?\s*(?P<unit>.*?)\s*$", re.DOTALL)
_MIXED = re.compile(r"^\s*(?P<whole>\d+)[\s-]+(?P<over>\d+)\s*/\s*(?P<under>\d+)\s*(?P<unit>\D.*?)\s*$")
_UNIT_TEXT = re.compile(r"[A-Za-z%_]+(?:\^-?\d)?(?:[*/ ][A-Za-z1]+(?:\^-?\d)?)*")
LONGEST = 60
LARGEST = 1e12


def quantity(value: object, dimension: Dimension, field: str = "value") -> float:
    """Read `value` as a `dimension` and return it in that dimension's inner unit.

    Raises
    ------
    UnitError
        No unit, an unknown unit, a unit of another kind, or a number that is not finite.
    """
    if isinstance(value, bool) or not isinstance(value, str):
        shown = f"{value!r}"[:LONGEST]
        raise UnitError(
            field, f"{shown} has no unit.", f"Write a {dimension.name} such as {dimension.example}."
        )
    if len(value) > LONGEST:
        raise UnitError(
            field, "the text is too long for a quantity.", f"Write it such as {dimension.example}."
        )
    magnitude, unit = _split(value, dimension, field)
    result = _in_inner_unit(magnitude, unit, dimension, value, field)
    if not math.isfinite(result) or abs(result) > LARGEST:
        raise UnitError(field, f"{value!r} is not a usable number.", f"Write it such as {dimension.example}.")
    return result


def _split(text: str, dimension: Dimension, field: str) -> tuple[float, str]:
    mixed = _MIXED.match(text)
    if mixed and int(mixed["under"]):
        return int(mixed["whole"]) + float(Fraction(int(mixed["over"]), int(mixed["under"]))), mixed["unit"]
    found = _QUANTITY.match(text)
    if not found:
        raise UnitError(
            field, f"{text!r} is not a {dimension.name}.", f"Write it such as {dimension.example}."
        )
    number = found["number"]
    if re.fullmatch(r"[+-]?\d{1,3},\d{3}", number):
        raise UnitError(
            field,
            f"{text!r} can be read two ways.",
            "Write 1500 or 1.5, without a comma before three digits.",
        )
    magnitude = float(number.replace(",", "."))
    if found["under"]:
        if not int(found["under"]):
            raise UnitError(field, f"{text!r} divides by nought.", f"Write it such as {dimension.example}.")
        magnitude /= int(found["under"])
    return magnitude, found["unit"]


def _tidy(unit: str) -> str:
    replaced = unit.replace("·", "*").replace("⋅", "*").replace("×", "*").replace("²", "^2").replace("µ", "u")
    replaced = replaced.replace("°", "deg").replace("″", "in").replace('"', "in").replace("º", "deg")
    return re.sub(r"\s*([*/^])\s*", r"\1", replaced).strip()


def _in_inner_unit(magnitude: float, unit: str, dimension: Dimension, text: str, field: str) -> float:
    if not unit:
        raise UnitError(
            field, f"{text!r} has no unit.", f"Write a {dimension.name} such as {dimension.example}."
        )
    tidy = _tidy(unit)
    # Only an upper-case prefix changes the meaning (mN, MN), so those two are left to the library.
    if tidy not in ("mN", "MN", "mPa", "MJ", "Mg"):
        factor = dimension.factors.get(tidy.lower().replace(" ", "*") if "*" not in tidy else tidy.lower())
        if factor is not None:
            return magnitude * factor
    return _by_library(magnitude, tidy, dimension, text, field)


def _by_library(magnitude: float, unit: str, dimension: Dimension, text: str, field: str) -> float:
    import pint

    registry = _registry()
    known = {"degF": "degF", "F": "degF", "degf": "degF", "K": "kelvin"}
    if dimension is TEMPERATURE:
        unit = known.get(unit, unit)
    unit = {"lb": "pound", "lbs": "pound", "oz": "ounce"}.get(unit, unit)
    try:
        measured = registry.Quantity(magnitude, unit)
        if dimension.weight_of_mass and measured.check("[mass]"):
            return float(measured.m_as("kilogram")) * STANDARD_GRAVITY
        return float(measured.m_as(dimension.inner))
    except pint.DimensionalityError:
        problem = f"{text!r} is not a {dimension.name}."
    except (pint.UndefinedUnitError, pint.DefinitionSyntaxError):
        problem = f"{text!r} has a unit that is not known."
    except Exception:  # the library raises many kinds on odd text; all of them mean the same to the user
        problem = f"{text!r} cannot be read as a {dimension.name}."
    raise UnitError(field, problem, f"Write it such as {dimension.example}.")


_REGISTRIES: list[Any] = []


def _registry() -> Any:
    import pint

    if not _REGISTRIES:
        _REGISTRIES.append(pint.UnitRegistry(autoconvert_offset_to_baseunit=False))
    return _REGISTRIES[0]
