"""Overhangs and bridges. mm, degrees from the vertical, MPa."""

from __future__ import annotations

import numpy as np

from recommender.mechanics.beams import bending_deflection
from recommender.mechanics.broadcasting import Computed, Flags, Values
from recommender.mechanics.impact import STANDARD_GRAVITY
from recommender.mechanics.section_properties import round_area, round_second_moment

LARGEST_UNSUPPORTED_FRACTION = 0.5
"""Share of a line that may hang over the one below; estimate, agrees with 45 degrees at h / w = 0.5."""


def layer_step(*, layer_height: Values, angle_deg: Values) -> Computed:
    """Sideways step per layer in mm: h tan(angle from the vertical)."""
    return layer_height * np.tan(np.radians(angle_deg))


def unsupported_fraction(*, layer_height: Values, angle_deg: Values, line_width: Values) -> Computed:
    """Share of a line that hangs over the one below: h tan(a) / w."""
    return layer_step(layer_height=layer_height, angle_deg=angle_deg) / line_width


def steepest_angle_deg(
    *, layer_height: Values, line_width: Values, fraction: Values = LARGEST_UNSUPPORTED_FRACTION
) -> Computed:
    """Angle from the vertical in degrees at which `fraction` of a line hangs free: atan(f w / h)."""
    return np.degrees(np.arctan(fraction * line_width / layer_height))


def strand_weight(
    *, density_g_cm3: Values, strand_diameter: Values, gravity: Values = STANDARD_GRAVITY
) -> Computed:
    """Weight of a round strand per length in N/mm."""
    return density_g_cm3 * 1e-6 * gravity * round_area(outer_diameter=strand_diameter)


def bridge_sag(*, line_load: Values, span: Values, strand_diameter: Values, hot_modulus: Values) -> Computed:
    """Sag in mm of a bridging strand held at both ends under its own weight: w L^4 / (384 E I).

    A lower bound: the modulus of a strand just deposited (about 50 MPa) is an estimate, and what
    sags before it stiffens is not in it. In practice 10 to 30 mm can be bridged (estimate).
    """
    return bending_deflection(
        support="fixed_both_ends",
        load_at="uniform",
        span=span,
        force=line_load * span,
        flexural_rigidity=hot_modulus * round_second_moment(outer_diameter=strand_diameter),
    )


def valid_overhang(*, layer_height: Values, angle_deg: Values, line_width: Values) -> Flags:
    """True where at most half a line hangs free and the angle is 45 degrees or less.

    Source of the angle: Mazlan and others, J. Adv. Ind. Technol. Appl., 2020.
    """
    hanging = unsupported_fraction(layer_height=layer_height, angle_deg=angle_deg, line_width=line_width)
    return (hanging <= LARGEST_UNSUPPORTED_FRACTION) & (angle_deg <= 45)
