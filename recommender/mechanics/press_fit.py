"""Press fits and interference in bosses (Lame). Diameters and interference on diameter, in mm.

For long times use the creep modulus: pressure and force fall in the same ratio. For a hub with
infill take the bore plus twice the solid ring as outer diameter. Source: Timoshenko, Strength of
Materials, part II, ch. 6; Shigley's Mechanical Engineering Design, ch. 3.
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values


def ring_factor(*, bore: Values, outer_diameter: Values) -> Computed:
    """(D^2 + d^2) / (D^2 - d^2): hoop stress at the bore over the pressure."""
    return (outer_diameter**2 + bore**2) / (outer_diameter**2 - bore**2)


def contact_pressure(
    *,
    bore: Values,
    outer_diameter: Values,
    interference: Values,
    hub_modulus: Values,
    hub_poisson_ratio: Values,
    shaft_modulus: Values = np.inf,
    shaft_poisson_ratio: Values = 0.3,
) -> Computed:
    """Pressure in MPa between a hub and a solid shaft; the default shaft is rigid.

    p = delta / (d / E_h ((D^2 + d^2) / (D^2 - d^2) + nu_h) + d / E_s (1 - nu_s)).
    """
    hub = (ring_factor(bore=bore, outer_diameter=outer_diameter) + hub_poisson_ratio) / hub_modulus
    shaft = (1 - shaft_poisson_ratio) / shaft_modulus
    return interference / (bore * (hub + shaft))


def hoop_stress_inner(*, pressure: Values, bore: Values, outer_diameter: Values) -> Computed:
    """Hoop tension at the bore in MPa: p (D^2 + d^2) / (D^2 - d^2)."""
    return pressure * ring_factor(bore=bore, outer_diameter=outer_diameter)


def hoop_stress_outer(*, pressure: Values, bore: Values, outer_diameter: Values) -> Computed:
    """Hoop tension at the outside in MPa: 2 p d^2 / (D^2 - d^2)."""
    return 2 * pressure * bore**2 / (outer_diameter**2 - bore**2)


def axial_force(*, pressure: Values, bore: Values, length: Values, friction: Values) -> Computed:
    """Force in N that pushes the fit apart: mu p pi d L."""
    return friction * pressure * np.pi * bore * length


def slip_torque(*, axial_force: Values, bore: Values) -> Computed:
    """Torque in N mm at which the fit slips: F d / 2."""
    return axial_force * bore / 2


def interference_strain(*, interference: Values, bore: Values) -> Computed:
    """Hoop strain delta / d forced on the bore by a rigid shaft; keep below the creep-rupture strain."""
    return interference / bore


def valid_ring(*, bore: Values, outer_diameter: Values) -> Flags:
    """True where the hub has material around the bore."""
    return outer_diameter > bore
