"""Pressure vessels: computed only in order to refuse. MPa, mm, J.

Layers leak, fail brittle between layers under lasting tension, and have no recognised inspection;
the energy of a compressed gas is what hurts. Pressure equipment is governed by codes (in the
European Union directive 2014/68/EU above 0.5 bar).
"""

from __future__ import annotations

from recommender.mechanics.broadcasting import Computed, Flags, Values

ATMOSPHERE = 0.1
"""Pressure of the surroundings in MPa, rounded."""

AIR_HEAT_RATIO = 1.4
"""Ratio of specific heats of air."""

WATER_HEAD_LIMIT = 0.005
"""Gauge pressure in MPa (0.05 bar) up to which standing water may be treated as a plate load; estimate."""


def thin_hoop_stress(*, pressure: Values, radius: Values, thickness: Values) -> Computed:
    """Hoop stress of a thin cylinder in MPa: p r / t."""
    return pressure * radius / thickness


def thin_axial_stress(*, pressure: Values, radius: Values, thickness: Values) -> Computed:
    """Axial stress of a thin closed cylinder in MPa: p r / (2 t)."""
    return pressure * radius / (2 * thickness)


def thick_hoop_stress(*, pressure: Values, inner_radius: Values, outer_radius: Values) -> Computed:
    """Hoop stress at the bore of a thick cylinder in MPa (Lame): p (r_o^2 + r_i^2) / (r_o^2 - r_i^2)."""
    return pressure * (outer_radius**2 + inner_radius**2) / (outer_radius**2 - inner_radius**2)


def stored_gas_energy_j(
    *,
    gauge_pressure: Values,
    volume: Values,
    surroundings: Values = ATMOSPHERE,
    heat_ratio: Values = AIR_HEAT_RATIO,
) -> Computed:
    """Energy in J that a gas in `volume` (mm^3) releases when it bursts free (isentropic expansion).

    U = p V / (k - 1) (1 - (p0 / p)^((k - 1) / k)), p absolute.
    """
    absolute = gauge_pressure + surroundings
    released = 1 - (surroundings / absolute) ** ((heat_ratio - 1) / heat_ratio)
    return absolute * volume / 1000 / (heat_ratio - 1) * released


def valid_thin_cylinder(*, radius: Values, thickness: Values) -> Flags:
    """True where the wall is thinner than a tenth of the radius."""
    return thickness < radius / 10


def valid_water_head(*, gauge_pressure: Values) -> Flags:
    """True below 0.05 bar, where standing water may be treated as pressure on a plate (estimate)."""
    return gauge_pressure < WATER_HEAD_LIMIT
