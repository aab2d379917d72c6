"""From the air that a sheet gives to the surface of the part: sun, colour, glass, closed air, motors, lamps, hobs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from kb.loading import KnowledgeBase
from recommender.duty.sheet import Duty
from recommender.rules.book import rule_book

Row = Mapping[str, Any]
SUNNY = frozenset({"sun", "behind_glass", "reflected_sun", "parked_car", "roof"})


class HeatStep(NamedTuple):
    """One step from air to surface: `rise_k` in K (for a level: what it adds to the step before)."""

    name: str
    rise_k: float
    source: str
    grade: str


class SurfaceTemperature(NamedTuple):
    """Hottest surface of the part, °C, with the steps that lead to it; the steps add up to the value."""

    value_c: float
    steps: tuple[HeatStep, ...]


def surface_temperature(duty: Duty, knowledge: KnowledgeBase) -> SurfaceTemperature:
    """Hottest surface of the part in use, °C.

    A surface temperature written in the sheet is taken as it stands (but never below the hottest load case).
    Otherwise: hottest air, warmed by closed air, then the largest rise of each kind of heat source, added up; at
    least the level that a place or a liquid reaches by itself. A part of unknown colour counts as dark. Adding
    the rises is on the safe side: two sources seldom reach their worst at once.
    """
    hottest_air = max(
        [duty.peak_air_c, *(load.temperature for load in duty.loads if load.temperature is not None)]
    )
    if duty.place.surface_temperature is not None:
        value = max(duty.place.surface_temperature, hottest_air)
        return SurfaceTemperature(value, (HeatStep("surface temperature of the sheet", value, "sheet", "A"),))
    warming = _warming(duty)
    rows = [row for row in rule_book(knowledge).heat if _applies(row, duty, warming)]
    steps = [HeatStep("hottest air of the sheet", hottest_air, "sheet", "A")]
    if not duty.said("place.peak_temperature"):
        _raise_to(steps, [row for row in rows if row["kind"] == "air_level"])
    for kind in ("air_rise", "surface_rise"):
        for row in _largest_of_groups([row for row in rows if row["kind"] == kind]):
            steps.append(_step(row, row["value"]))
    _raise_to(steps, [row for row in rows if row["kind"] == "level"])
    return SurfaceTemperature(sum(step.rise_k for step in steps), tuple(steps))


def _warming(duty: Duty) -> frozenset[str]:
    return frozenset(duty.place.warmed_by) | ({"sun"} if duty.place.outdoors else frozenset())


def _applies(row: Row, duty: Duty, warming: frozenset[str]) -> bool:
    if row["warming"] not in warming:
        return False
    if row["group"] in ("closed", "closed_in_sun"):
        return bool(row["group"] == "closed_in_sun") == bool(SUNNY & warming)
    if row["group"] in ("lamp", "lamp_led"):
        return bool(row["group"] == "lamp_led") == (duty.facts.get("lamp_type") == "led")
    colour = "light" if duty.place.colour == "light" else "dark"
    return row["colour"] in ("any", colour)


def _largest_of_groups(rows: list[Row]) -> list[Row]:
    largest: dict[str, Row] = {}
    for row in rows:
        known = largest.get(row["group"])
        if known is None or row["value"] > known["value"]:
            largest[row["group"]] = row
    return list(largest.values())


def _raise_to(steps: list[HeatStep], levels: list[Row]) -> None:
    if not levels:
        return
    highest = max(levels, key=lambda row: float(row["value"]))
    reached = sum(step.rise_k for step in steps)
    if highest["value"] > reached:
        steps.append(_step(highest, highest["value"] - reached))


def _step(row: Row, rise_k: float) -> HeatStep:
    return HeatStep(row["situation"], float(rise_k), row["sources"][0], row["grade"])
