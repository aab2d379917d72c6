"""Inputs of the regression and its prediction, in NumPy alone."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def core_lift(core_share: Array, core_ratio: Array) -> Array:
    """By how much the strength of a section rises, as a share, if its core were twice as good while sparse.

    A core of ratio r counts as r (1 + b (1 - r)); with the section's share s of core that lifts the strength
    (1 - s) + s r by about b s r (1 - r) / ((1 - s) + s r), which this returns for b = 1. With 0 <= b <= 1 the
    strength still rises with every wall and every per cent of infill.
    """
    relative = (1.0 - core_share) + core_share * core_ratio
    lift: Array = core_share * core_ratio * (1.0 - core_ratio) / relative
    return lift


def bending_reserve(section: Any, core_ratio: Array) -> Array:
    """Log of fully plastic over elastic moment: log 1.5 for a solid rectangle, 0 for thin faces on no core.

    M_p / M_e = 1.5 (1 - q^2 + r q^2) / (1 - q^3 + r q^3) with q = 1 - face / half depth and the core's ratio r
    (textbook plastic bending of a rectangle, applied to a sandwich as wide as the part).
    """
    q = np.where(section.core_area > 0.0, 1.0 - section.depth_face / section.half_depth, 0.0)
    reserve: Array = np.log(1.5 * (1.0 - (1.0 - core_ratio) * q**2) / (1.0 - (1.0 - core_ratio) * q**3))
    return reserve
