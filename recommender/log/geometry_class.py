"""The class of a part in which print success is counted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from recommender.duty.sheet import Duty

SMALL_MM, LARGE_MM = 50.0, 150.0  # longest size of the form; estimates of where warping starts to matter


def geometry_class(duty: Duty) -> str:
    """Kind of form and rough size: the class in which print success is counted."""
    longest = max(_lengths(duty.form.model_dump()), default=0.0)
    size = "small" if longest < SMALL_MM else "medium" if longest < LARGE_MM else "large"
    return f"{duty.form.kind}, {size}"


def _lengths(value: Any) -> list[float]:
    if isinstance(value, Mapping):
        return [number for part in value.values() for number in _lengths(part)]
    return [float(value)] if isinstance(value, float) else []
