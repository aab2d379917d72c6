"""Quantities as people write them.

Expected figures are exact definitions: 1 in = 25.4 mm, 1 lb = 0.45359237 kg (1959 agreement), standard
gravity 9.80665 m/s2 (CGPM 1901), °F = 1.8 °C + 32. So the tolerance is that of floating point alone.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.errors import UnitError
from recommender.quantities import (
    ANGLE,
    ENERGY,
    FORCE,
    KINDS,
    LENGTH,
    MASS,
    PRESSURE,
    SHARE,
    SPEED,
    TEMPERATURE,
    TIME,
    TORQUE,
    Dimension,
    quantity,
)

ROOT = Path(__file__).resolve().parents[2]
POUND_FORCE = 0.45359237 * 9.80665

AS_WRITTEN: list[tuple[str, Dimension, float]] = [
    ("80 mm", LENGTH, 80),
    ("80mm", LENGTH, 80),
    ("8 cm", LENGTH, 80),
    ("0.08 m", LENGTH, 80),
    ("1/4 in", LENGTH, 6.35),
    ('1/4"', LENGTH, 6.35),
    ("1 1/2 in", LENGTH, 38.1),
    ("1-1/2 in", LENGTH, 38.1),
    ("1½ in", LENGTH, 38.1),
    ("½ in", LENGTH, 12.7),
    ("3 ft", LENGTH, 914.4),
    ("250 µm", LENGTH, 0.25),
    ("0.125 in", LENGTH, 3.175),
    ("0,125 in", LENGTH, 3.175),
    ("2,5 mm", LENGTH, 2.5),
    ("4 kg", FORCE, 39.2266),
    ("500 g", FORCE, 4.903325),
    ("12 lbf", FORCE, 12 * POUND_FORCE),
    ("12 lb", FORCE, 12 * POUND_FORCE),
    ("1.2 kN", FORCE, 1200),
    ("1.500 N", FORCE, 1.5),
    ("1.5 N·m", TORQUE, 1500),
    ("1.5 N m", TORQUE, 1500),
    ("1.5 Nm", TORQUE, 1500),
    ("1,5 N*m", TORQUE, 1500),
    ("150 N·cm", TORQUE, 1500),
    ("50 mNm", TORQUE, 50),
    ("10 kg·cm", TORQUE, 980.665),
    ("20 in-lb", TORQUE, 20 * 25.4 * POUND_FORCE),
    ("2 ft lbf", TORQUE, 2 * 304.8 * POUND_FORCE),
    ("2 J", ENERGY, 2000),
    ("2 mJ", ENERGY, 2),
    ("0.5 kg", MASS, 500),
    ("1 lb", MASS, 453.59237),
    ("90 min", TIME, 5400),
    ("2 h", TIME, 7200),
    ("1 year", TIME, 31556952),
    ("0.02 MPa", PRESSURE, 0.02),
    ("2 bar", PRESSURE, 0.2),
    ("20 N/cm²", PRESSURE, 0.2),
    ("140 °F", TEMPERATURE, 60),
    ("140F", TEMPERATURE, 60),
    ("35°C", TEMPERATURE, 35),
    ("35 C", TEMPERATURE, 35),
    ("-5 °C", TEMPERATURE, -5),
    ("−5 °C", TEMPERATURE, -5),
    ("300 K", TEMPERATURE, 26.85),
    ("90°", ANGLE, 90),
    ("90 deg", ANGLE, 90),
    ("60 rpm", SPEED, 60),
    ("60 1/min", SPEED, 60),
    ("2 %", SHARE, 2),
]


@pytest.mark.parametrize(("text", "dimension", "expected"), AS_WRITTEN)
def test_units_as_people_write_them(text: str, dimension: Dimension, expected: float) -> None:
    assert quantity(text, dimension) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        ("1,500 N", FORCE, ["two ways", "1500 or 1.5"]),
        ("1 500 N", FORCE, ["two ways"]),
        ("1'500 N", FORCE, ["two ways"]),
        ("1.500,5 N", FORCE, ["two ways"]),
        ("1,500,000 mm", LENGTH, ["two ways"]),
        ("500", FORCE, ["no unit", "500 N if you mean that"]),
        ("50 Nm", FORCE, ["torque, not a force", "action: twist"]),
        ("50 mNm", FORCE, ["torque, not a force"]),
        ("50 mN", FORCE, ["thousandths of a newton", "50 N for newtons"]),
        ("50 mN", TORQUE, ["force, not a torque", "mN·m"]),
        ("50 N", TORQUE, ["force, not a torque", "1.5 N·m"]),
        ("2 J", TORQUE, ["energy, not a torque"]),
        ("5 kg", LENGTH, ["not a length"]),
        ("5 mm", FORCE, ["a length, not a force"]),
        ("5 s", FORCE, ["a time, not a force"]),
        ("35 degrees", TEMPERATURE, ["which degrees", "°C or °F"]),
        ("35", TEMPERATURE, ["no unit", "35 °C"]),
        ("5 bananas", LENGTH, ["not known"]),
        ("1:30", TIME, ["not a time"]),
        ("2024-05-01", TIME, ["not a time"]),
        ("1/0 in", LENGTH, ["divides by nought"]),
        ("1e400 N", FORCE, ["too large"]),
        ("5e300 km", LENGTH, ["too large"]),
        ("2e12 mm", LENGTH, ["too large"]),
        ("nan N", FORCE, ["not a force"]),
        ("inf N", FORCE, ["not a force"]),
        ("about 5 N", FORCE, ["not a force"]),
        ("", FORCE, ["not a force"]),
        ("5 " + "m" * 100, LENGTH, ["too long"]),
    ],
)
def test_refusals_say_what_is_wrong_and_what_to_write(
    text: str, dimension: Dimension, words: list[str]
) -> None:
    with pytest.raises(UnitError) as caught:
        quantity(text, dimension, "loads[0].force")
    message = str(caught.value)
    assert message.startswith("loads[0].force: ")
    assert all(word in message for word in words), message


@pytest.mark.parametrize(
    "value",
    [80, 80.0, True, None, [], {}, float("nan"), float("inf"), object(), pytest.param(10**5000, id="huge")],
)
def test_only_text_is_a_quantity(value: object) -> None:
    with pytest.raises(UnitError):
        quantity(value, LENGTH)


@pytest.mark.parametrize(
    "unit",
    ["mm**9999999", "mm^9999999", "mm**mm", "m*m*m*m*m*m*m", "(((((mm)))))", "mm;mm", "__import__('os')",
     "mm/0", "1e9999", "m" * 50, "{mm}", "mm\nmm", "\x00mm"],
)  # fmt: skip
def test_hostile_units_are_refused_at_once(unit: str) -> None:
    quantity("1 lbf", FORCE)  # the library is loaded before the clock runs
    start = time.perf_counter()
    with pytest.raises(UnitError):
        quantity(f"5 {unit}", LENGTH)
    assert time.perf_counter() - start < 0.5


@given(st.floats(1e-3, 1e6), st.sampled_from(["mm", "cm", "m", "in", "ft", "um"]))
def test_a_length_comes_back_in_its_own_unit(number: float, unit: str) -> None:
    in_mm = {"mm": 1, "cm": 10, "m": 1000, "in": 25.4, "ft": 304.8, "um": 1e-3}[unit]
    # 12 significant figures are written, so 1e-11 is what the text itself can hold.
    assert quantity(f"{number:.12g} {unit}", LENGTH) / in_mm == pytest.approx(number, rel=1e-11)


@given(st.floats(-50, 390))
def test_fahrenheit_and_celsius_agree(celsius: float) -> None:
    fahrenheit = 1.8 * celsius + 32
    assert quantity(f"{fahrenheit:.9f} °F", TEMPERATURE) == pytest.approx(celsius, abs=1e-7)


@given(st.integers(0, 20), st.integers(0, 31), st.sampled_from([2, 4, 8, 16, 32]))
def test_inch_fractions(whole: int, over: int, under: int) -> None:
    assert quantity(f"{whole} {over}/{under} in", LENGTH) == pytest.approx(
        25.4 * (whole + over / under), abs=1e-9
    )


@given(st.text(max_size=80), st.sampled_from(KINDS))
def test_any_text_is_a_number_or_a_unit_error(text: str, dimension: Dimension) -> None:
    try:
        assert abs(quantity(text, dimension)) <= 1e12
    except UnitError as error:
        assert error.remedy


@given(st.text(alphabet="0123456789.,/-+ eNmkgJsFCK°·*^%\"'", max_size=20), st.sampled_from(KINDS))
def test_near_quantities_are_numbers_or_unit_errors(text: str, dimension: Dimension) -> None:
    try:
        assert abs(quantity(text, dimension)) <= 1e12
    except UnitError as error:
        assert error.remedy


def test_the_units_library_is_loaded_only_when_a_value_needs_it() -> None:
    script = (
        "import sys\n"
        "from recommender.quantities import FORCE, LENGTH, TEMPERATURE, quantity\n"
        "quantity('80 mm', LENGTH), quantity('5 kg', FORCE), quantity('50 N', FORCE)\n"
        "quantity('35 °C', TEMPERATURE), quantity('1/4 in', LENGTH)\n"
        "assert 'pint' not in sys.modules\n"
        "quantity('140 °F', TEMPERATURE)\n"
        "assert 'pint' in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", script], cwd=ROOT, check=True)
