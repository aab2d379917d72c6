"""Pin lugs, clevis pins and the elastic peak at their holes. N, mm, MPa.

W width, D hole, e distance from hole centre to the free end, t thickness. Ductile solids are judged
by net section and bearing without the peak; brittle ones with it (`notches.notch_factor`).
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

SHEAR_PLANE_ANGLE_DEG = 40.0
"""Angle of the shear-out planes (Melcon and Hoblit, 1953; Bruhn, ch. D1)."""

_EDGE_RATIOS = np.array([1.0, 1.25, 1.5, 2.0])
_FREE_END_SHARES = np.array([0.855, 0.601, 0.531, 0.508])


def net_section_stress(*, force: Values, width: Values, hole_diameter: Values, thickness: Values) -> Computed:
    """Mean tension beside the hole in MPa: P / ((W - D) t)."""
    return force / ((width - hole_diameter) * thickness)


def bearing_stress(*, force: Values, hole_diameter: Values, thickness: Values) -> Computed:
    """Mean pressure of the pin in MPa: P / (D t)."""
    return force / (hole_diameter * thickness)


def shear_out_stress(
    *, force: Values, hole_diameter: Values, edge_distance: Values, thickness: Values
) -> Computed:
    """Shear stress in MPa on the two planes to the free end: P / (2 t (e - (D / 2) cos 40 deg))."""
    ligament = edge_distance - hole_diameter / 2 * np.cos(np.radians(SHEAR_PLANE_ANGLE_DEG))
    return force / (2 * thickness * ligament)


def shear_out_stress_edge(
    *, force: Values, hole_diameter: Values, edge_distance: Values, thickness: Values
) -> Computed:
    """The same with the full ligament, P / (2 t (e - D / 2)): the higher, cautious form."""
    return force / (2 * thickness * (edge_distance - hole_diameter / 2))


def lug_stress_concentration(*, width: Values, hole_diameter: Values, edge_distance: Values) -> Computed:
    """Elastic peak over net-section stress: 1.033 (W / D)^1.308 (e / D)^-0.443.

    Fit to six plane-stress contact runs (largest error 3.9 %): square end, neat, rigid, frictionless
    pin. Holds where `valid_lug` is true.
    """
    return 1.033 * (width / hole_diameter) ** 1.308 * (edge_distance / hole_diameter) ** -0.443


def free_end_tension(
    *, force: Values, hole_diameter: Values, edge_distance: Values, thickness: Values
) -> Computed:
    """Hoop (splitting) tension in MPa behind the pin at the free end.

    0.855, 0.601, 0.531 and 0.508 of the bearing stress at e / D = 1, 1.25, 1.5 and 2, linear between
    and held outside: the highest of six contact finite-element runs (W / D = 2 to 4, spread 6 %).
    """
    share = np.interp(np.divide(edge_distance, hole_diameter), _EDGE_RATIOS, _FREE_END_SHARES)
    return share * bearing_stress(force=force, hole_diameter=hole_diameter, thickness=thickness)


def pin_moment(*, force: Values, eye_thickness: Values, fork_thickness: Values, gap: Values) -> Computed:
    """Bending moment of a clevis pin in N mm: (P / 2) (t_fork / 2 + gap + t_eye / 4).

    `fork_thickness` is that of one fork leg. Source: Bruhn, Analysis and Design of Flight Vehicle
    Structures, ch. D1; errs to the safe side for a stiff pin.
    """
    return force / 2 * (fork_thickness / 2 + gap + eye_thickness / 4)


def pin_bending_stress(*, moment: Values, pin_diameter: Values) -> Computed:
    """Bending stress of a round pin in MPa: 32 M / (pi d^3)."""
    return 32 * moment / (np.pi * pin_diameter**3)


def pin_peak_shear_stress(*, force: Values, pin_diameter: Values, shear_planes: Values = 2) -> Computed:
    """Largest shear stress of a round pin in MPa: (4/3) P / (n A)."""
    return 4 / 3 * pin_mean_shear_stress(force=force, pin_diameter=pin_diameter, shear_planes=shear_planes)


def pin_mean_shear_stress(*, force: Values, pin_diameter: Values, shear_planes: Values = 2) -> Computed:
    """Mean shear stress of a round pin in MPa: P / (n pi d^2 / 4)."""
    return force / (shear_planes * np.pi / 4 * pin_diameter**2)


def valid_lug(*, width: Values, hole_diameter: Values, edge_distance: Values) -> Flags:
    """True where the peak factor was fitted: 2 <= W / D <= 4 and 1 <= e / D <= 2."""
    wide, deep = width / hole_diameter, edge_distance / hole_diameter
    return (wide >= 2) & (wide <= 4) & (deep >= 1) & (deep <= 2)


def valid_bearing_ring(*, ring_thickness: Values, hole_diameter: Values) -> Flags:
    """True where solid loops of at least 0.3 D surround the hole (estimate).

    Below that the pin's pressure meets the core's strength instead of the skin's.
    """
    return ring_thickness >= 0.3 * hole_diameter
