"""Impact as an equivalent static load. Mass in kg, drop in mm, spring rate in N/mm.

Elastic part, striker much heavier than the part, no gain of strength from strain rate; a brittle
notch at the root counts in full. Source: Timoshenko, Strength of Materials, part I (energy method).
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

STANDARD_GRAVITY = 9.80665
"""Acceleration of free fall in m/s^2 (CGPM 1901)."""

SUDDEN_LOAD_FACTOR = 2.0
"""A load let go without a drop acts twice (the drop formula at height zero)."""


def static_deflection(*, mass_kg: Values, stiffness: Values, gravity: Values = STANDARD_GRAVITY) -> Computed:
    """Deflection in mm under the resting mass: m g / k."""
    return mass_kg * gravity / stiffness


def drop_factor(*, drop_height: Values, static_deflection: Values) -> Computed:
    """Equivalent over resting load: 1 + sqrt(1 + 2 h / delta_st)."""
    return 1 + np.sqrt(1 + 2 * drop_height / static_deflection)


def drop_force(
    *, mass_kg: Values, drop_height: Values, stiffness: Values, gravity: Values = STANDARD_GRAVITY
) -> Computed:
    """Equivalent static force in N of a mass dropped onto the part."""
    resting = static_deflection(mass_kg=mass_kg, stiffness=stiffness, gravity=gravity)
    return mass_kg * gravity * drop_factor(drop_height=drop_height, static_deflection=resting)


def sudden_force(*, force: Values) -> Computed:
    """Equivalent static force in N of a load applied all at once: 2 F."""
    return SUDDEN_LOAD_FACTOR * force


def horizontal_force(*, mass_kg: Values, speed_m_s: Values, stiffness: Values) -> Computed:
    """Equivalent static force in N of a mass that strikes sideways: v sqrt(k m), k in N/mm."""
    return speed_m_s * np.sqrt(stiffness * 1000 * mass_kg)


def energy_force(*, energy_j: Values, stiffness: Values) -> Computed:
    """Equivalent static force in N that stores `energy_j` in a spring of N/mm: sqrt(2 k U)."""
    return np.sqrt(2 * stiffness * 1000 * energy_j)


def valid_heavy_striker(*, striker_mass_kg: Values, part_mass_kg: Values) -> Flags:
    """True where the striker is at least five times as heavy as the part (estimate)."""
    return striker_mass_kg >= 5 * part_mass_kg
