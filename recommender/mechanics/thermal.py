"""Thermal stress and movement. Expansion coefficients per K, temperature changes in K, MPa, mm."""

from __future__ import annotations

from recommender.mechanics.broadcasting import Computed, Values


def constrained_stress(*, modulus: Values, expansion: Values, temperature_change: Values) -> Computed:
    """Stress in MPa of a fully held bar: E alpha dT (compression when it warms). Use the creep modulus."""
    return modulus * expansion * temperature_change


def differential_movement(
    *, length: Values, expansion: Values, support_expansion: Values, temperature_change: Values
) -> Computed:
    """Free movement in mm between two fixings on another material: (alpha_p - alpha_s) L dT."""
    return (expansion - support_expansion) * length * temperature_change


def slot_length_each_end(*, movement: Values) -> Computed:
    """Play in mm to give each of two slots: half the movement."""
    return movement / 2


def bilayer_curvature(
    *,
    modulus_1: Values,
    modulus_2: Values,
    thickness_1: Values,
    thickness_2: Values,
    expansion_1: Values,
    expansion_2: Values,
    temperature_change: Values,
) -> Computed:
    """Curvature in 1/mm of two bonded layers after a temperature change.

    kappa = 6 (a1 - a2) dT (1 + m)^2 / (h (3 (1 + m)^2 + (1 + m n) (m^2 + 1 / (m n)))), m = t1 / t2,
    n = E1 / E2, h = t1 + t2. Source: Timoshenko, J. Opt. Soc. Am. 11, 1925, p. 233.
    """
    m, n = thickness_1 / thickness_2, modulus_1 / modulus_2
    square = (1 + m) ** 2
    denominator = (thickness_1 + thickness_2) * (3 * square + (1 + m * n) * (m**2 + 1 / (m * n)))
    return 6 * (expansion_1 - expansion_2) * temperature_change * square / denominator
