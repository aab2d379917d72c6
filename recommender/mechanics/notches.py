"""Stress raisers: holes, notches, inside corners; how much of them a polymer feels. mm, MPa."""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

_CORNER_RATIOS = np.array([0.5, 1.0, 2.0, 4.0, 8.0]) / 6
_CORNER_FACTORS = np.array([3.333, 2.407, 1.803, 1.436, 1.236])


def hole_factor_net(*, width: Values, hole_diameter: Values) -> Computed:
    """Peak over net-section stress at an open hole in a strip in tension: 2 + (1 - d / W)^3.

    Within 2.3 % (low) of finite elements for W / d = 2 to 6. Source: Heywood, in Peterson's Stress
    Concentration Factors.
    """
    return 2 + (1 - hole_diameter / width) ** 3


def hole_factor_gross(*, width: Values, hole_diameter: Values) -> Computed:
    """Peak over gross-section stress at an open hole: the net factor over 1 - d / W."""
    return hole_factor_net(width=width, hole_diameter=hole_diameter) / (1 - hole_diameter / width)


def ellipse_factor(*, depth: Values, tip_radius: Values) -> Computed:
    """Peak over far stress at an elliptical notch: 1 + 2 sqrt(a / rho) (Inglis, 1913)."""
    return 1 + 2 * np.sqrt(depth / tip_radius)


def corner_factor(*, inner_radius: Values, thickness: Values) -> Computed:
    """Peak over straight-beam stress at the inside of an L-corner that is being opened.

    Plane-stress finite elements at r_i / t = 0.083 to 1.33 (3.33 to 1.24), linear between, which lies
    above the curve; held outside, where `valid_corner` is false for sharper corners. Also for the
    fillet of a shoulder in bending (estimate).
    """
    return np.interp(np.divide(inner_radius, thickness), _CORNER_RATIOS, _CORNER_FACTORS)


def valid_corner(*, inner_radius: Values, thickness: Values) -> Flags:
    """True where r_i / t is 0.083 or more; a sharper corner has no number."""
    return inner_radius / thickness >= _CORNER_RATIOS[0] - 1e-12


def notch_factor(*, stress_concentration: Values, sensitivity: Values) -> Computed:
    """Strength lost to a notch: K_f = 1 + q (K_t - 1), q from 0 (ductile) to 1 (brittle)."""
    return 1 + sensitivity * (stress_concentration - 1)


def critical_distance(*, fracture_toughness_mpa_sqrt_m: Values, inherent_strength: Values) -> Computed:
    """Critical distance L in mm: (1 / pi) (K_Ic / S_0)^2.

    The point method fails where the stress at L / 2 ahead of the notch reaches S_0. Source: Taylor,
    The Theory of Critical Distances, 2007.
    """
    return (fracture_toughness_mpa_sqrt_m / inherent_strength) ** 2 / np.pi * 1000


def point_method_distance(*, critical_distance: Values) -> Computed:
    """Where the point method reads the stress, L / 2 ahead of the notch root, in mm."""
    return critical_distance / 2


def valid_hole(*, width: Values, hole_diameter: Values) -> Flags:
    """True where W / d lies between 2 and 6, the range compared with finite elements."""
    return (width >= 2 * hole_diameter) & (width <= 6 * hole_diameter)
