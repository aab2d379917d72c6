"""Plates and lids: circular, rectangular, sandwich; deflections with shear, stresses by MPa.

Pressure in MPa, radius R, short side a, long side b, thickness t in mm. Linear theory: deflection
below half the thickness (`valid_small_deflection`). Add the shear deflection where R / t < 15
(`valid_thin_plate`); it costs nothing to add it always.

Sources: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed. (TW), Tables 8, 23,
35, 37 and art. 30; Roark's Formulas for Stress and Strain, 8th ed., Tables 11.2 and 11.4; Allen,
1969, for sandwiches. Compared with axisymmetric and 3-D finite elements in the tests.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

Edge: TypeAlias = Literal["clamped", "simply_supported"]

SHEAR_COEFFICIENT = 5 / 6
"""Share of the thickness that works in shear, solid plate (Reissner)."""

_ODD = np.arange(1, 16, 2)
_SIGNS = (-1.0) ** ((_ODD - 1) // 2)

# Clamped plate under uniform pressure, TW Table 35, against a / b (0 is the endless strip).
_CLAMPED_ASPECT = 1 / np.array([np.inf, 2.0, 1.9, 1.8, 1.7, 1.6, 1.5, 1.4, 1.3, 1.2, 1.1, 1.0])
_CLAMPED_DEFLECTION = np.array([260, 254, 249, 245, 238, 230, 220, 207, 191, 172, 150, 126]) * 1e-5
_CLAMPED_EDGE_MOMENT = np.array([833, 829, 822, 812, 799, 780, 757, 726, 687, 639, 581, 513]) * 1e-4

# Point load at the centre, against a / b: TW Tables 23 (simply supported) and 37 (clamped); edge moment
# of the clamped plate from Roark Table 11.4 (beta_2 / 6).
_POINT_ASPECT = 1 / np.array([np.inf, 3.0, 2.0, 1.8, 1.6, 1.4, 1.2, 1.0])
_POINT_DEFLECTION = {
    "simply_supported": np.array([1695, 1690, 1651, 1620, 1570, 1484, 1353, 1160]) * 1e-5,
    "clamped": np.array([725, 725, 722, 720, 712, 691, 647, 560]) * 1e-5,
}
_POINT_EDGE_MOMENT = np.array([1008, 1008, 1004, 1000, 990.6, 962.4, 894.0, 754.2]) / 6000
_POINT_CENTRE_TERM = {
    "simply_supported": np.array([1.0, 1.0, 0.958, 0.927, 0.875, 0.789, 0.650, 0.435]),
    "clamped": np.array([0.067, 0.067, 0.067, 0.068, 0.053, 0.011, -0.078, -0.238]),
}

# Skin stress of a sandwich plate by finite elements over the formula, against E_core / E_skin.
_SANDWICH_RATIOS = np.array([0.01, 0.05, 0.2, 1.0])
_SANDWICH_SKIN = {
    "clamped": np.array([1.333, 1.065, 1.016, 1.0]),
    "simply_supported": np.array([1.142, 1.034, 1.013, 1.0]),
}


def plate_rigidity(*, modulus: Values, poisson_ratio: Values, thickness: Values) -> Computed:
    """Bending rigidity D = E t^3 / (12 (1 - nu^2)) of a solid plate in N mm."""
    return modulus * thickness**3 / (12 * (1 - poisson_ratio**2))


def plate_shear_rigidity(*, shear_modulus: Values, thickness: Values) -> Computed:
    """Shear rigidity S = (5/6) G t of a solid plate in N/mm."""
    return SHEAR_COEFFICIENT * shear_modulus * thickness


def sandwich_rigidity(
    *,
    skin_modulus: Values,
    skin_poisson_ratio: Values,
    core_modulus: Values,
    core_poisson_ratio: Values,
    thickness: Values,
    skin_thickness: Values,
) -> Computed:
    """Bending rigidity of a plate with two skins and a core in N mm; solid where the skins meet.

    D = E_f (t^3 - c^3) / (12 (1 - nu_f^2)) + E_c c^3 / (12 (1 - nu_c^2)), c = t - 2 t_f.
    """
    core_cube = np.maximum(thickness - 2 * skin_thickness, 0.0) ** 3
    skin = skin_modulus / (12 * (1 - skin_poisson_ratio**2))
    core = core_modulus / (12 * (1 - core_poisson_ratio**2))
    return skin * (thickness**3 - core_cube) + core * core_cube


def sandwich_shear_rigidity(
    *, skin_shear_modulus: Values, core_shear_modulus: Values, thickness: Values, skin_thickness: Values
) -> Computed:
    """Shear rigidity G_c d^2 / c of a sandwich plate in N/mm, d = t - t_f, c = t - 2 t_f.

    Never above the solid plate's (5/6) (2 t_f G_f + c G_c), which also covers skins that meet.
    """
    core = np.maximum(thickness - 2 * skin_thickness, 0.0)
    sandwich = core_shear_modulus * (thickness - skin_thickness) ** 2 / np.maximum(core, 1e-9 * thickness)
    solid = SHEAR_COEFFICIENT * (skin_shear_modulus * (thickness - core) + core_shear_modulus * core)
    return np.minimum(sandwich, solid)


def circular_uniform_deflection(
    *, edge: Edge, pressure: Values, radius: Values, rigidity: Values, poisson_ratio: Values
) -> Computed:
    """Centre deflection from bending in mm: q R^4 / (64 D), times (5 + nu) / (1 + nu) when hinged."""
    clamped = pressure * radius**4 / (64 * rigidity)
    return clamped if edge == "clamped" else clamped * (5 + poisson_ratio) / (1 + poisson_ratio)


def circular_uniform_shear_deflection(
    *, pressure: Values, radius: Values, shear_rigidity: Values
) -> Computed:
    """Centre deflection from shear in mm, q R^2 / (4 S), for either edge."""
    return pressure * radius**2 / (4 * shear_rigidity)


def circular_uniform_centre_moment(
    *, edge: Edge, pressure: Values, radius: Values, poisson_ratio: Values
) -> Computed:
    """Bending moment at the centre in N mm/mm: (1 + nu) q R^2 / 16 clamped, (3 + nu) q R^2 / 16 hinged."""
    return ((1 if edge == "clamped" else 3) + poisson_ratio) * pressure * radius**2 / 16


def circular_uniform_edge_moment(*, pressure: Values, radius: Values) -> Computed:
    """Bending moment at the clamped edge in N mm/mm: q R^2 / 8 (size; it hogs)."""
    return pressure * radius**2 / 8


def equivalent_patch_radius(*, patch_radius: Values, thickness: Values) -> Computed:
    """Radius in mm over which a small load spreads: sqrt(1.6 r0^2 + t^2) - 0.675 t below r0 = t / 2.

    Source: Westergaard, in Roark Table 11.2.
    """
    spread = np.sqrt(1.6 * np.square(patch_radius) + np.square(thickness)) - 0.675 * thickness
    return np.where(patch_radius < 0.5 * np.asarray(thickness), spread, patch_radius)[()]


def circular_point_deflection(
    *, edge: Edge, force: Values, radius: Values, rigidity: Values, poisson_ratio: Values
) -> Computed:
    """Centre deflection from bending under a central force in mm: P R^2 / (16 pi D), hinged (3+nu)/(1+nu)."""
    clamped = force * radius**2 / (16 * np.pi * rigidity)
    return clamped if edge == "clamped" else clamped * (3 + poisson_ratio) / (1 + poisson_ratio)


def circular_point_shear_deflection(
    *, force: Values, radius: Values, patch_radius: Values, shear_rigidity: Values
) -> Computed:
    """Centre deflection from shear under a central patch in mm: P (ln(R / r0) + 1/2) / (2 pi S).

    Derived here by integrating the shear force; the true value is somewhat less.
    """
    return force * (np.log(radius / patch_radius) + 0.5) / (2 * np.pi * shear_rigidity)


def circular_point_centre_moment(
    *, edge: Edge, force: Values, radius: Values, patch_radius: Values, poisson_ratio: Values
) -> Computed:
    """Bending moment under a central patch in N mm/mm; give the `equivalent_patch_radius`.

    Clamped: P (1+nu) (ln(R/r0) + (r0/2R)^2) / (4 pi); hinged: P ((1+nu) ln(R/r0) + 1 -
    (1-nu) (r0/2R)^2) / (4 pi). Source: TW art. 19.
    """
    logarithm, patch = np.log(radius / patch_radius), (patch_radius / (2 * radius)) ** 2
    stiff = 1 + poisson_ratio
    bracket = (
        stiff * (logarithm + patch)
        if edge == "clamped"
        else stiff * logarithm + 1 - (1 - poisson_ratio) * patch
    )
    return force * bracket / (4 * np.pi)


def circular_point_edge_moment(*, force: Values) -> Computed:
    """Bending moment at the clamped edge under a central force in N mm/mm: P / (4 pi)."""
    return force / (4 * np.pi)


def _series(aspect: Values) -> tuple[Computed, Computed, Computed]:
    half = np.pi / 2 * np.multiply.outer(np.asarray(aspect, dtype=float), _ODD)
    sech = 2 * np.exp(-half) / (1 + np.exp(-2 * half))
    return half, np.tanh(half), sech


def rectangular_deflection_coefficient(*, edge: Edge, short: Values, long: Values) -> Computed:
    """alpha in w = alpha q a^4 / D at the centre under uniform pressure.

    Hinged: Levy's series (TW art. 30), exact; clamped: TW Table 35 between its rows.
    """
    if edge == "clamped":
        return np.interp(short / long, _CLAMPED_ASPECT, _CLAMPED_DEFLECTION)
    half, tanh, sech = _series(long / short)
    terms = _SIGNS * (half * tanh + 2) * sech / 2 / _ODD**5
    return 5 / 384 - 4 / np.pi**5 * terms.sum(axis=-1)


def rectangular_moment_coefficient(
    *, edge: Edge, short: Values, long: Values, poisson_ratio: Values = 0.3
) -> Computed:
    """beta in M = beta q a^2: at the centre when hinged (Levy), at the long edge when clamped (Table 35)."""
    if edge == "clamped":
        return np.interp(short / long, _CLAMPED_ASPECT, _CLAMPED_EDGE_MOMENT)
    half, tanh, sech = _series(long / short)
    nu = np.asarray(poisson_ratio)[..., np.newaxis]
    amplitude, slope = -(half * tanh + 2) * sech, sech
    terms = _SIGNS / _ODD**3 * (amplitude - nu * (amplitude + 2 * slope))
    return 1 / 8 + 2 / np.pi**3 * terms.sum(axis=-1)


def rectangular_shear_coefficient(*, short: Values, long: Values) -> Computed:
    """f in w_s = f q a^2 / S at the centre: 0.0737 for a square, 1/8 for a strip (derived here).

    The deflection of a membrane on the same outline, which is exact for hinged edges and within
    1.2 % (high) of finite elements for clamped ones.
    """
    _, _, sech = _series(long / short)
    return 1 / 8 - 4 / np.pi**3 * (_SIGNS * sech / _ODD**3).sum(axis=-1)


def rectangular_uniform_deflection(
    *,
    edge: Edge,
    pressure: Values,
    short: Values,
    long: Values,
    rigidity: Values,
    shear_rigidity: Values = np.inf,
) -> Computed:
    """Centre deflection in mm under uniform pressure: alpha q a^4 / D + f q a^2 / S."""
    bending = rectangular_deflection_coefficient(edge=edge, short=short, long=long) * short**4 / rigidity
    shear = rectangular_shear_coefficient(short=short, long=long) * short**2 / shear_rigidity
    return pressure * (bending + shear)


def rectangular_point_deflection(
    *, edge: Edge, force: Values, short: Values, long: Values, rigidity: Values
) -> Computed:
    """Centre deflection from bending in mm under a central force: k P a^2 / D (TW Tables 23, 37)."""
    return np.interp(short / long, _POINT_ASPECT, _POINT_DEFLECTION[edge]) * force * short**2 / rigidity


def rectangular_point_edge_moment(*, force: Values, short: Values, long: Values) -> Computed:
    """Moment at the middle of the long clamped edge in N mm/mm, 0.126 to 0.168 P (Roark Table 11.4)."""
    return np.interp(short / long, _POINT_ASPECT, _POINT_EDGE_MOMENT) * force


def rectangular_point_centre_moment(
    *, edge: Edge, force: Values, short: Values, long: Values, patch_radius: Values, poisson_ratio: Values
) -> Computed:
    """Moment under a central patch in N mm/mm: P ((1 + nu) ln(2a / (pi r0)) + beta) / (4 pi).

    Give the `equivalent_patch_radius`. Source: Roark Table 11.4, cases of a small central patch.
    """
    beta = np.interp(short / long, _POINT_ASPECT, _POINT_CENTRE_TERM[edge])
    return force * ((1 + poisson_ratio) * np.log(2 * short / (np.pi * patch_radius)) + beta) / (4 * np.pi)


def solid_stress(*, moment: Values, thickness: Values) -> Computed:
    """Surface stress of a solid plate in MPa: 6 M / t^2, M in N mm/mm."""
    return 6 * moment / thickness**2


def sandwich_skin_stress(
    *, moment: Values, skin_modulus: Values, skin_poisson_ratio: Values, thickness: Values, rigidity: Values
) -> Computed:
    """Surface stress of a sandwich plate in MPa: M (t / 2) E_f / ((1 - nu_f^2) D).

    Low by up to 25 % over a very soft core: multiply by `sandwich_skin_correction`.
    """
    return moment * thickness / 2 * skin_modulus / ((1 - skin_poisson_ratio**2) * rigidity)


def sandwich_skin_correction(*, edge: Edge, skin_modulus: Values, core_modulus: Values) -> Computed:
    """Factor on the skin's stress for its own local bending, by finite elements (linear in between).

    1.33 clamped and 1.14 hinged at E_c / E_f = 0.01, 1.07 and 1.03 at 0.05, 1 for a solid plate.
    """
    return np.interp(np.divide(core_modulus, skin_modulus), _SANDWICH_RATIOS, _SANDWICH_SKIN[edge])


def valid_small_deflection(*, deflection: Values, thickness: Values) -> Flags:
    """True where the deflection stays below half the thickness (linear theory; above, it is too large)."""
    return deflection < thickness / 2


def valid_thin_plate(*, radius: Values, thickness: Values) -> Flags:
    """True where R / t (or half the short side over t) is 15 or more: no shear term needed."""
    return radius / thickness >= 15


def valid_sandwich(*, skin_modulus: Values, core_modulus: Values) -> Flags:
    """True where the core has at least 1 % of the skin's modulus, the softest one compared."""
    return core_modulus >= 0.01 * skin_modulus
