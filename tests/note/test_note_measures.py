"""Figures on the note: never more than was assessed, both units, the reader's own first."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.wording import wording
from recommender.report.note.measures import STANDARD_GRAVITY, Reader, rounded_down, rounded_up

METRIC, US = Reader(wording("en")), Reader(wording("en"), "us")


@pytest.mark.parametrize(
    ("value", "down", "up"),
    [
        (4.0, 4.0, 4.0),
        (4.99, 4.9, 5.0),
        (117.6, 110.0, 120.0),
        (0.0349, 0.034, 0.035),
        (9.96, 9.9, 10.0),
        (100.0, 100.0, 100.0),
        (0.0, 0.0, 0.0),
        (99900.0, 99000.0, 100000.0),
    ],
)
def test_two_figures_down_and_up(value: float, down: float, up: float) -> None:
    assert (rounded_down(value), rounded_up(value)) == (down, up)


@given(st.floats(min_value=1e-6, max_value=1e9))
def test_rounding_down_never_promises_more_and_loses_less_than_a_tenth(value: float) -> None:
    # Two figures: the step is at most a tenth of the value (10 against 11).
    low, high = rounded_down(value), rounded_up(value)
    assert low <= value * (1 + 2e-9) and low > value * (10 / 11) * (1 - 1e-8)
    assert high >= value * (1 - 2e-9) and high < value * 1.1 * (1 + 1e-8)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -1.0])
def test_what_is_no_amount_is_not_rounded(value: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        rounded_down(value)


def test_a_hung_mass_comes_back_as_the_mass_that_was_written() -> None:
    # A sheet's "4 kg" is stored as 4 * 9.80665 N; floating point must not turn it into 3.9 kg.
    for mass in (0.3, 1.1, 2.3, 4.0, 7.7, 12.0, 29.0, 110.0):
        assert METRIC.weight(mass * STANDARD_GRAVITY).startswith(f"{mass:g} kg (")


def test_weight_in_both_units() -> None:
    # 50 N / 9.80665 = 5.0986 kg -> 5.0; 5.0 / 0.45359237 = 11.02 lb -> 11.
    assert METRIC.weight(50.0) == "5 kg (11 lb)"
    # 50 N = 11.24 lb -> 11; 11 lb = 4.9895 kg -> 4.9.
    assert US.weight(50.0) == "11 lb (4.9 kg)"
    # 0.5 N = 50.99 g -> 50; 50 g = 1.763 oz -> 1.7.
    assert METRIC.weight(0.5) == "50 g (1.7 oz)"


def test_torque_pressure_energy() -> None:
    # 1500 N mm = 13.28 lbf in; 0.02 MPa = 2.9008 psi; 2000 N mm = 1.475 ft lbf (factors exact by definition).
    assert METRIC.torque(1500.0) == "1.5 N·m (13 lbf·in)"
    assert METRIC.pressure(0.02) == "20 kPa (2.9 psi)"
    assert METRIC.energy(2000.0) == "2 J (1.4 ft·lbf)"


def test_a_test_load_is_rounded_up() -> None:
    # 1.25 * 4 kg = 5 kg exactly; 5 kg = 11.02 lb, up to two figures: 12.
    assert METRIC.weight(5 * STANDARD_GRAVITY, up=True) == "5 kg (12 lb)"
    assert METRIC.weight(5.01 * STANDARD_GRAVITY, up=True).startswith("5.1 kg")


def test_heat_is_rounded_down_and_cold_up() -> None:
    assert METRIC.hottest(42.9) == "42 °C (107 °F)"  # 42 °C = 107.6 °F
    assert METRIC.coldest(-9.5) == "−9 °C (16 °F)"  # -9 °C = 15.8 °F
    assert US.hottest(40.0) == "104 °F (40 °C)"
    assert US.hottest(42.9) == "109 °F (42 °C)"  # 42.9 °C = 109.2 °F; 109 °F = 42.8 °C


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (30, "1 min"),
        (600, "10 min"),
        (3600, "1 hour"),
        (86400 * 1.5, "1 day"),
        (86400 * 29, "29 days"),
        (2629746 * 18.5, "18 months"),
        (31556952, "1 year"),
        (31556952 * 2, "2 years"),
        (31556952 * 2.9, "2 years"),
    ],
)
def test_times_are_rounded_down(seconds: float, words: str) -> None:
    assert METRIC.duration(seconds) == words
