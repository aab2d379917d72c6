"""Which quantity an observation teaches, and in which class of it the observation falls.

Learning reads counts per class. A class is fine enough to lose nothing that a calliper or a kitchen balance
tells: 0.01 mm of deviation, 0.1 mm of nominal size, 1 % of a ratio. Counts are whole numbers, so that voiding
an entry takes back exactly what it added.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from recommender.log.records import EVENTS, Observation, Print
from recommender.log.steps import DEVIATION_STEP_MM, LARGEST_CLASS, LOG_RATIO_STEP, NOMINAL_STEP_MM

FORCES = ("N", "N·mm", "MPa")


@dataclass(frozen=True, slots=True)
class Lesson:
    """What one observation adds: topic, class, nominal and value as whole steps, and whether it spoils."""

    topic: str | None = None
    kind: str = ""
    nominal: int = 0
    value: int = 0
    spoils: bool = False


def lesson_of(entry: Print, seen: Observation) -> Lesson:
    """What `seen` teaches about the print `entry`; a lesson without topic where it teaches no number."""
    if seen.kind == "size" and seen.nominal_mm and seen.measured_mm and seen.feature:
        return _size(seen.feature, seen.axis or "", seen.first_layer, seen.nominal_mm, seen.measured_mm)
    if seen.kind == "time":
        return _ratio("time", seen.amount, entry.time_min)
    if seen.kind == "mass":
        return _ratio("mass", seen.amount, entry.mass_g)
    if entry.load_unit not in FORCES:  # a bend or turn at failure tells of strain, not of strength
        return Lesson(spoils=_spoils(seen))
    if seen.kind in ("held", "broke"):
        return _ratio(seen.kind, seen.load, entry.test_typical)
    if seen.kind == "service" and seen.outcome == "still fine":
        return _ratio("held", entry.applied, entry.test_typical)
    if seen.kind == "service" and seen.outcome == "broke":
        return _ratio("below", entry.applied, entry.failure_typical)
    return Lesson(spoils=_spoils(seen))


def _spoils(seen: Observation) -> bool:
    return seen.kind == "event" and EVENTS[seen.words]


def _size(feature: str, axis: str, first_layer: bool, nominal: float, measured: float) -> Lesson:
    deviation = _clamped((measured - nominal) / DEVIATION_STEP_MM)
    kind = f"{feature}|{axis}|{int(first_layer)}"
    return Lesson("size", kind, round(nominal / NOMINAL_STEP_MM), deviation)


def _ratio(topic: str, observed: float | None, predicted: float | None) -> Lesson:
    if not observed or not predicted:
        return Lesson()
    return Lesson(topic, value=_clamped(math.log(observed / predicted) / LOG_RATIO_STEP))


def _clamped(steps: float) -> int:
    return max(-LARGEST_CLASS, min(LARGEST_CLASS, round(steps)))
