"""Quantities as people write them ("4 kg", "12 lbf", "1.5 N·m", "1/4 in", "140 °F") to our inner units.

Inside, everything is N, mm, N mm, MPa, °C, s, g and N mm for energy. The inner units and their plain
decimal multiples are read here at once; anything else goes to the units library, which is loaded only
then because it costs start-up time.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from typing import Any

from recommender.errors import UnitError

STANDARD_GRAVITY = 9.80665  # m/s^2, exact by definition (CGPM 1901)


@dataclass(frozen=True, slots=True, eq=False)
class Dimension:
    """A kind of quantity: its inner unit, the units read without the library, and an example."""

    name: str
    inner: str
    factors: dict[str, float]
    example: str
    inner_symbol: str
    weight_of_mass: bool = False


LENGTH = Dimension(
    "length", "mm", {"mm": 1.0, "cm": 10.0, "m": 1000.0, "um": 1e-3, "in": 25.4, "inch": 25.4}, "80 mm", "mm"
)
FORCE = Dimension(
    "force",
    "newton",
    {"n": 1.0, "newton": 1.0, "newtons": 1.0, "kn": 1000.0, "kg": STANDARD_GRAVITY,
     "g": STANDARD_GRAVITY / 1000},
    "50 N (or 5 kg for a hung mass)",
    "N",
    weight_of_mass=True,
)  # fmt: skip
TORQUE = Dimension(
    "torque",
    "newton * mm",
    {"n*mm": 1.0, "nmm": 1.0, "n*m": 1000.0, "nm": 1000.0, "n*cm": 10.0, "ncm": 10.0},
    "1.5 N·m",
    "N·mm",
)
ENERGY = Dimension(
    "energy", "newton * mm", {"j": 1000.0, "joule": 1000.0, "n*m": 1000.0, "nm": 1000.0}, "2 J", "N·mm"
)
MASS = Dimension("mass", "gram", {"g": 1.0, "kg": 1000.0}, "0.5 kg", "g")
TIME = Dimension(
    "time",
    "second",
    {
        "s": 1.0, "min": 60.0, "minutes": 60.0, "h": 3600.0, "hour": 3600.0, "hours": 3600.0, "day": 86400.0,
        "days": 86400.0, "week": 604800.0, "weeks": 604800.0, "month": 2629746.0, "months": 2629746.0,
        "year": 31556952.0, "years": 31556952.0,
    },
    "2 years",
    "s",
)  # fmt: skip
PRESSURE = Dimension("pressure", "megapascal", {"mpa": 1.0, "kpa": 1e-3, "n/mm^2": 1.0}, "0.02 MPa", "MPa")
TEMPERATURE = Dimension("temperature", "degC", {"c": 1.0, "degc": 1.0}, "35 °C", "°C")
ANGLE = Dimension("angle", "degree", {"deg": 1.0, "degree": 1.0, "degrees": 1.0}, "90 deg", "deg")
SPEED = Dimension("rotational speed", "rpm", {"rpm": 1.0, "1/min": 1.0, "/min": 1.0}, "60 rpm", "rpm")
SHARE = Dimension("share", "percent", {"%": 1.0, "percent": 1.0}, "2 %", "%")

KINDS = (LENGTH, MASS, FORCE, TORQUE, ENERGY, TIME, PRESSURE, TEMPERATURE, ANGLE, SPEED, SHARE)

_NUMBER = r"[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d{1,4})?"
_QUANTITY = re.compile(rf"(?P<number>{_NUMBER})(?:\s*/\s*(?P<under>\d+))?\s*(?P<unit>[^\d\s].*|1/min)?")
_MIXED = re.compile(r"(?P<whole>\d+)[\s-]+(?P<over>\d+)\s*/\s*(?P<under>\d+)\s*(?P<unit>\D.*)?")
# A thousands mark, or a decimal comma before three figures; "1.500" and "0,125" can only be decimals.
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}(?:(?:[ '’_,]\d{3})+|(?:\.\d{3}){2,}|\.\d{3},\d+)(?!\d)")
_UNIT_TEXT = re.compile(r"[A-Za-z%_]+(?:\^-?[1-4])?(?:[*/][A-Za-z]+(?:\^-?[1-4])?){0,3}|1?/min")
LONGEST = 60
LARGEST = 1e12

# Where only the case of a prefix tells two units apart, the unit is taken as written.
_CASE_MATTERS = frozenset({"mN", "MN", "mPa", "MJ", "mJ", "Mg", "mg", "mNm", "mN*m"})
_AS_THE_LIBRARY_SAYS = {"F": "degF", "degf": "degF", "degreesF": "degF", "K": "kelvin", "lb": "pound",
                        "lbs": "pound", "oz": "ounce", "mNm": "mN*m", "kNm": "kN*m"}  # fmt: skip
_FORCE_OF = {"lb": "lbf", "lbs": "lbf", "pound": "lbf", "kg": "kgf", "g": "gf", "oz": "ozf"}
_SIGNS = str.maketrans({"−": "-", "–": "-", "·": "*", "⋅": "*", "∙": "*", "×": "*", "²": "^2", "³": "^3",
                        "µ": "u", "μ": "u", "″": "in", '"': "in", "”": "in", "′": "ft", "'": "ft",
                        "\u00a0": " ", "\u202f": " ", "\u2009": " ", "⁄": "/"})  # fmt: skip


def quantity(value: object, dimension: Dimension, field: str = "value") -> float:
    """Read `value` as a `dimension` and return it in that dimension's inner unit.

    Raises
    ------
    UnitError
        No unit, an unknown unit, a unit of another kind, or a number that is not finite.
    """
    if not isinstance(value, str):
        raise UnitError(field, *_not_text(value, dimension))
    if len(value) > LONGEST:
        raise UnitError(
            field,
            f"{value[:20]!r}... is too long for a {dimension.name} ({len(value)} characters).",
            f"Write it such as {dimension.example}.",
        )
    magnitude, unit = _split(value, dimension, field)
    result = _in_inner_unit(magnitude, unit, dimension, value, field)
    if not math.isfinite(result) or abs(result) > LARGEST:
        raise UnitError(
            field,
            f"{value!r} is too large to be a {dimension.name}.",
            f"Write it such as {dimension.example}.",
        )
    return result


def _not_text(value: object, dimension: Dimension) -> tuple[str, str]:
    if isinstance(value, int) and abs(value) > LARGEST:
        return "this number has too many digits.", f"Write a {dimension.name} such as {dimension.example}."
    shown = f"{value!r}"[:LONGEST]
    if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
        return f"{shown} has no unit.", _with_unit(shown, dimension)
    if value is None:
        return "nothing is written here.", f"Write a {dimension.name} such as {dimension.example}."
    return f"{shown} is not a {dimension.name}.", f"Write it such as {dimension.example}."


def _with_unit(number: str, dimension: Dimension) -> str:
    wanted = dimension.example.split(" (")[0].split(" ", 1)[1]
    return f"Write the unit too: {number} {wanted} if you mean that (another unit is fine)."


def _split(text: str, dimension: Dimension, field: str) -> tuple[float, str]:
    plain = _plain_signs(text)
    mixed = _MIXED.fullmatch(plain)
    if mixed and int(mixed["under"]):
        return int(mixed["whole"]) + int(mixed["over"]) / int(mixed["under"]), mixed["unit"] or ""
    if _GROUPED.match(plain):
        raise UnitError(
            field, f"{text!r} can be read two ways.", "Write 1500 or 1.5, with no mark between thousands."
        )
    found = _QUANTITY.fullmatch(plain)
    if not found:
        raise UnitError(
            field, f"{text!r} is not a {dimension.name}.", f"Write it such as {dimension.example}."
        )
    magnitude = float(found["number"].replace(",", "."))
    if found["under"]:
        if not int(found["under"]):
            raise UnitError(field, f"{text!r} divides by nought.", f"Write it such as {dimension.example}.")
        magnitude /= int(found["under"])
    return magnitude, (found["unit"] or "").strip()


def _plain_signs(text: str) -> str:
    """`text` with typographic signs replaced by the plain ones and "1½" written "1 1/2"."""
    if text.isascii():
        return text.strip()
    parts = (
        " " + unicodedata.normalize("NFKC", sign)
        if unicodedata.decomposition(sign).startswith("<fraction>")
        else sign
        for sign in text
    )
    return "".join(parts).translate(_SIGNS).strip()


def _tidy(unit: str) -> str:
    plain = unit.translate(_SIGNS).replace("º", "deg").replace("°", "deg").replace("**", "^")
    plain = re.sub(r"\s*([*/^])\s*", r"\1", plain).strip().rstrip(".")
    plain = re.sub(r"^deg\s+(?=[CFcf]$)", "deg", plain)
    return re.sub(r"(?<=[A-Za-z])(?:[.\s-]+)(?=[A-Za-z])", "*", plain)


def _in_inner_unit(magnitude: float, unit: str, dimension: Dimension, text: str, field: str) -> float:
    if not unit:
        raise UnitError(field, f"{text!r} has no unit.", _with_unit(text.strip(), dimension))
    tidy = _tidy(unit)
    if not _UNIT_TEXT.fullmatch(tidy):
        problem = "has a unit that cannot be read" if tidy[:1].isalpha() else f"is not a {dimension.name}"
        raise UnitError(field, f"{text!r} {problem}.", f"Write it such as {dimension.example}.")
    if tidy not in _CASE_MATTERS:
        factor = dimension.factors.get(tidy.lower())
        if factor is not None:
            return magnitude * factor
    _refuse_a_near_miss(tidy, dimension, text, field)
    return _by_library(magnitude, tidy, dimension, text, field)


def _refuse_a_near_miss(unit: str, dimension: Dimension, text: str, field: str) -> None:
    """Units that belong to another kind or are easily mixed up get the message that helps most."""
    lower = unit.lower()
    number = text.strip().split(" ")[0]
    problem = remedy = ""
    if dimension is FORCE and (lower in TORQUE.factors or lower in ("mnm", "mn*m")):
        problem = f"{text!r} is a torque, not a force."
        remedy = "Write the force, such as 50 N; a torque goes in `torque` with `action: twist`."
    elif dimension is FORCE and unit == "mN":
        problem = f"{text!r} would be {number} thousandths of a newton."
        remedy = f"Write {number} N for newtons; a torque in N·m goes in `torque` with `action: twist`."
    elif dimension is TORQUE and unit in ("mN", "MN", "N", "kN"):
        problem = f"{text!r} is a force, not a torque."
        remedy = f"Write newton metres as N·m, such as 1.5 N·m; millinewton metres as {number} mN·m."
    elif dimension is TORQUE and lower in ("j", "joule"):
        problem, remedy = f"{text!r} is an energy, not a torque.", "Write a torque such as 1.5 N·m."
    elif dimension is TEMPERATURE and lower in ("deg", "degree", "degrees"):
        problem, remedy = f"{text!r} does not say which degrees.", "Write °C or °F, such as 35 °C."
    elif dimension is LENGTH and lower in ("n", "kg", "g", "lb"):
        problem, remedy = f"{text!r} is not a length.", "Write a size such as 80 mm."
    if problem:
        raise UnitError(field, problem, remedy)


def _by_library(magnitude: float, unit: str, dimension: Dimension, text: str, field: str) -> float:
    import pint

    registry = _registry()
    unit = _AS_THE_LIBRARY_SAYS.get(unit, unit)
    if dimension in (TORQUE, PRESSURE):
        unit = re.sub(r"[A-Za-z]+", lambda word: _FORCE_OF.get(word[0], word[0]), unit)
    try:
        measured = registry.Quantity(magnitude, unit)
        if dimension.weight_of_mass and measured.check("[mass]"):
            return float(measured.m_as("kilogram")) * STANDARD_GRAVITY
        return float(measured.m_as(dimension.inner))
    except pint.DimensionalityError:
        problem = f"{text!r} is {_kind_in_words(measured)}, not a {dimension.name}."
    except (pint.UndefinedUnitError, pint.DefinitionSyntaxError):
        problem = f"{text!r} has a unit that is not known."
    except Exception:  # the library raises many kinds on odd text; all of them mean the same to the user
        problem = f"{text!r} cannot be read as a {dimension.name}."
    raise UnitError(field, problem, f"Write it such as {dimension.example}.")


def _kind_in_words(measured: Any) -> str:
    registry = _registry()
    for kind in KINDS:
        if measured.dimensionality == registry.Quantity(1, kind.inner).dimensionality:
            return f"an {kind.name}" if kind.name[0] in "ae" else f"a {kind.name}"
    return "another kind of quantity"


_REGISTRIES: list[Any] = []


def _registry() -> Any:
    import pint

    if not _REGISTRIES:
        _REGISTRIES.append(pint.UnitRegistry(autoconvert_offset_to_baseunit=False))
    return _REGISTRIES[0]
