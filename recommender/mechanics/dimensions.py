"""Sizes as printed: scale and offset, holes, shrinkage, first layer, ISO 286 grades. mm unless named.

Derived here from geometry unless a source is named.
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.beads import bead_area
from recommender.mechanics.broadcasting import Computed, Flags, Values

ISO_286_STEPS = np.array([1, 3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500], dtype=np.float64)
"""Limits of the main steps of nominal size of ISO 286-1 (the first step, up to 3 mm, counts from 1)."""

IT_GRADE_FACTORS = {
    5: 7, 6: 10, 7: 16, 8: 25, 9: 40, 10: 64, 11: 100, 12: 160, 13: 250, 14: 400, 15: 640, 16: 1000
}  # fmt: skip
"""Standard tolerance of a grade over the tolerance factor i (ISO 286-1)."""


def scale_from_two(
    *, nominal_1: Values, measured_1: Values, nominal_2: Values, measured_2: Values
) -> Computed:
    """Scale in measured = scale * nominal + offset, from two sizes."""
    return (measured_2 - measured_1) / (nominal_2 - nominal_1)


def offset_from_one(*, nominal: Values, measured: Values, scale: Values) -> Computed:
    """Offset in mm left over at one size: measured - scale * nominal."""
    return measured - scale * nominal


def drawn_size(*, wanted: Values, scale: Values, offset: Values) -> Computed:
    """Size to draw in mm so that `wanted` comes out: (wanted - offset) / scale."""
    return (wanted - offset) / scale


def chord_undersize(*, diameter: Values, facets: Values) -> Computed:
    """Loss of diameter in mm of a hole drawn as a polygon through its circle: D (1 - cos(pi / n))."""
    return diameter * (1 - np.cos(np.pi / facets))


def bead_centreline_radius(*, hole_radius: Values, line_width: Values) -> Computed:
    """Radius in mm on which the nozzle runs around a hole: r + w / 2."""
    return hole_radius + line_width / 2


def curved_bead_area_ratio(*, centreline_radius: Values, line_width: Values) -> Computed:
    """Area of the inner half of a curved bead over its outer half, less than 1."""
    inner = centreline_radius**2 - (centreline_radius - line_width / 2) ** 2
    outer = (centreline_radius + line_width / 2) ** 2 - centreline_radius**2
    return inner / outer


def curved_bead_undersize(*, centreline_radius: Values, line_width: Values) -> Computed:
    """Loss of radius in mm because a curved bead's volume sits inwards: sqrt(r_c^2 + w^2 / 12) - r_c."""
    return np.sqrt(centreline_radius**2 + line_width**2 / 12) - centreline_radius


def thermal_contraction(*, size: Values, expansion: Values, temperature_drop: Values) -> Computed:
    """Contraction in mm on cooling by `temperature_drop` K: D alpha dT."""
    return size * expansion * temperature_drop


def squished_width(*, line_width: Values, layer_height: Values, gap: Values) -> Computed:
    """Width in mm of a first-layer bead squeezed into `gap`: same stadium area, height `gap`."""
    area = bead_area(line_width=line_width, layer_height=layer_height)
    return area / gap + (1 - np.pi / 4) * gap


def first_layer_spread(*, line_width: Values, layer_height: Values, gap: Values) -> Computed:
    """Spread of each edge of the first layer in mm (elephant foot): half the gain in width."""
    return (squished_width(line_width=line_width, layer_height=layer_height, gap=gap) - line_width) / 2


def size_step_mean(*, nominal: Values) -> Computed:
    """Geometric mean in mm of the ISO 286-1 size step that holds `nominal` (upper limit included)."""
    upper = np.clip(np.searchsorted(ISO_286_STEPS, nominal, side="left"), 1, len(ISO_286_STEPS) - 1)
    return np.sqrt(ISO_286_STEPS[upper - 1] * ISO_286_STEPS[upper])


def tolerance_factor_um(*, step_mean: Values) -> Computed:
    """Standard tolerance factor i = 0.45 D^(1/3) + 0.001 D in micrometres (ISO 286-1)."""
    return 0.45 * np.cbrt(step_mean) + 0.001 * step_mean


def standard_tolerance_um(*, step_mean: Values, grade: int) -> Computed:
    """Standard tolerance of an IT grade in micrometres: 40 i for IT9, 100 i for IT11, 250 i for IT13.

    Raises ValueError for a grade outside 5 to 16. The printed table of the standard is rounded.
    """
    if grade not in IT_GRADE_FACTORS:
        raise ValueError(f"grade={grade}: IT5 to IT16 are known.")
    return IT_GRADE_FACTORS[grade] * tolerance_factor_um(step_mean=step_mean)


def valid_iso_size(*, nominal: Values) -> Flags:
    """True up to 500 mm, where the formula of ISO 286-1 holds."""
    return (nominal > 0) & (nominal <= 500)


def valid_structural_wall(*, thickness: Values, line_width: Values) -> Flags:
    """True where a wall holds at least two lines; one line is not structural (estimate)."""
    return thickness >= 2 * line_width


def closes(*, gap: Values, line_width: Values) -> Flags:
    """True where a gap narrower than half a line grows together (estimate)."""
    return gap < line_width / 2
