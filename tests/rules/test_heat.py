"""From air to surface: each rise alone by hand, together, and what must always hold."""

from __future__ import annotations

from typing import Any

import pytest
from firing_table import knowledge, sheet
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.rules.heat import SurfaceTemperature, surface_temperature

WARMING = ("sun", "behind_glass", "closed_air", "parked_car", "attic", "roof", "motor", "lamp", "hob",
           "dishwasher", "hot_water", "heater", "reflected_sun")  # fmt: skip


def surface(changes: dict[str, Any]) -> SurfaceTemperature:
    return surface_temperature(sheet(changes), knowledge())


# Air of 30 °C written as the peak; rises as kb/heat_exposures states them.
@pytest.mark.parametrize(
    ("warmed_by", "colour", "expected"),
    [
        ([], "dark", 30),
        (["sun"], "dark", 70),  # 30 + 40: the window profile of the source reached about 70
        (["sun"], "light", 50),
        (["sun"], "unknown", 70),  # unknown counts as dark
        (["behind_glass"], "dark", 75),
        (["sun", "behind_glass"], "dark", 75),  # one sun, so only the larger
        (["sun", "reflected_sun"], "dark", 110),  # a second sun
        (["closed_air"], "dark", 40),
        (["closed_air", "sun"], "dark", 92),  # 30 + 22 + 40
        (["parked_car"], "light", 63),  # 30 + 33
        (["attic"], "light", 60),  # the air is given, but an attic reaches 60 by itself
        (["roof"], "light", 77),
        (["motor"], "light", 70),
        (["lamp"], "light", 90),
        (["hob"], "light", 95),
        (["heater"], "light", 70),
        (["dishwasher"], "light", 75),
        (["hot_water"], "light", 66),
        (["motor", "sun"], "light", 90),  # 30 + 20 + 40
    ],
)
def test_rises_by_hand(warmed_by: list[str], colour: str, expected: float) -> None:
    found = surface({"place.peak_temperature": "30 °C", "place.warmed_by": warmed_by, "place.colour": colour})
    assert found.value_c == pytest.approx(expected, abs=1e-9)


def test_outdoors_is_sun() -> None:
    assert surface({"place.outdoors": True, "place.colour": "light"}).value_c == 23 + 20


def test_a_car_without_a_peak_meets_a_hot_day() -> None:
    # Dash of 71 °C on a day of 38 °C (Vanos et al. 2018, as reported).
    assert surface({"place.warmed_by": ["parked_car"]}).value_c == pytest.approx(71)


def test_an_attic_without_a_peak_is_taken_at_its_worst() -> None:
    assert surface({"place.warmed_by": ["attic"]}).value_c == pytest.approx(71)


def test_a_led_warms_less_than_a_lamp_of_unknown_kind() -> None:
    led = surface({"place.warmed_by": ["lamp"], "facts": {"lamp_type": "led"}}).value_c
    assert led == 23 + 25 < surface({"place.warmed_by": ["lamp"]}).value_c


def test_a_measured_surface_is_taken_as_it_stands() -> None:
    found = surface({"place.surface_temperature": "48 °C", "place.outdoors": True})
    assert (found.value_c, len(found.steps)) == (48, 1)


def test_a_hot_load_case_counts_as_air() -> None:
    loads = [{"action": "pull", "force": "5 N", "temperature": "60 °C"}]
    assert surface({"loads": loads}).value_c == 60


def test_every_step_has_a_source_of_the_bibliography() -> None:
    found = surface({"place.outdoors": True, "place.warmed_by": list(WARMING)})
    assert len(found.steps) > 5
    assert all(step.source == "sheet" or step.source in knowledge().sources for step in found.steps)
    assert {step.grade for step in found.steps} <= {"A", "B", "C"}


SOURCES = st.lists(st.sampled_from(WARMING), unique=True, max_size=5)


@given(SOURCES, st.sampled_from(WARMING), st.sampled_from(["light", "dark", "unknown"]), st.booleans())
@settings(max_examples=120, deadline=None)
def test_more_heat_never_cools_and_steps_add_up(
    warmed: list[str], more: str, colour: str, peak: bool
) -> None:
    place: dict[str, Any] = {"place.colour": colour} | ({"place.peak_temperature": "33 °C"} if peak else {})
    one = surface({**place, "place.warmed_by": warmed})
    two = surface({**place, "place.warmed_by": list(dict.fromkeys([*warmed, more]))})
    assert two.value_c >= one.value_c
    assert two.value_c == pytest.approx(sum(step.rise_k for step in two.steps))
    assert all(step.rise_k > 0 for step in two.steps)


@given(SOURCES)
@settings(max_examples=60, deadline=None)
def test_dark_is_never_cooler_than_light_and_unknown_is_dark(warmed: list[str]) -> None:
    light, dark, unknown = (
        surface({"place.warmed_by": warmed, "place.colour": colour}).value_c
        for colour in ("light", "dark", "unknown")
    )
    assert dark == unknown >= light
