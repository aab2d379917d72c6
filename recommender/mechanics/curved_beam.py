"""Curved beams of rectangular section: hooks and bends, homogeneous or with a sparse middle.

Radii from the centre of curvature: `inner_radius` r_i, depth `height` h towards the outside,
breadth `width` b (mm). A positive moment opens the bend (tension inside). For a load through the
centre of curvature give the force only: the moment about the centroid is then P R_c, which
`hook_stresses` does.

Winkler-Bach is 1 to 8 % low at the inner fibre, and far more with a sparse middle: multiply by
`inner_fibre_correction` and refuse where `valid_hook` is false.

Sources: Shigley's Mechanical Engineering Design, ch. 3; Roark's Formulas for Stress and Strain,
8th ed., ch. 9; the modulus-weighted form was derived here; the corrections come from plane-stress
finite elements (see tests/mechanics/test_curved_beam.py).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

_COMPOSITE_RATIOS = np.array([0.05, 0.2, 0.325, 0.6, 1.0])
_COMPOSITE_SHARP = np.array([1.621, 1.150, 1.100, 1.072, 1.072])  # finite elements at r_i / h = 0.42
_COMPOSITE_WIDE = np.array([1.194, 1.037, 1.030, 1.025, 1.025])  # finite elements at r_i / h = 0.83
_SHARP, _WIDE = 5 / 12, 10 / 12


class FibreStresses(NamedTuple):
    """Stress in MPa at the inner and at the outer fibre."""

    inner: Computed
    outer: Computed


def centroid_radius(*, inner_radius: Values, height: Values) -> Computed:
    """Radius of the centroid in mm: r_i + h / 2."""
    return inner_radius + height / 2


def neutral_radius(*, inner_radius: Values, height: Values) -> Computed:
    """Radius of the neutral axis in pure bending in mm: h / ln(r_o / r_i)."""
    return height / np.log1p(height / inner_radius)


def eccentricity(*, inner_radius: Values, height: Values) -> Computed:
    """Distance from centroid to neutral axis in mm: R_c - r_n."""
    return centroid_radius(inner_radius=inner_radius, height=height) - neutral_radius(
        inner_radius=inner_radius, height=height
    )


def winkler_bach(
    *, force: Values, moment: Values, inner_radius: Values, height: Values, width: Values
) -> FibreStresses:
    """Stresses of a homogeneous curved beam: N / A +- M (r - r_n) / (A e r).

    `force` is the tension through the centroid in N, `moment` the opening moment about it in N mm.
    """
    area = width * height
    neutral = neutral_radius(inner_radius=inner_radius, height=height)
    lever = moment / (area * eccentricity(inner_radius=inner_radius, height=height))
    outer_radius = inner_radius + height
    return FibreStresses(
        force / area + lever * (neutral - inner_radius) / inner_radius,
        force / area - lever * (outer_radius - neutral) / outer_radius,
    )


def hook_stresses(*, force: Values, inner_radius: Values, height: Values, width: Values) -> FibreStresses:
    """Stresses in MPa at the throat of a solid hook whose load passes through the centre of curvature."""
    moment = force * centroid_radius(inner_radius=inner_radius, height=height)
    return winkler_bach(force=force, moment=moment, inner_radius=inner_radius, height=height, width=width)


class CurvedSection(NamedTuple):
    """Modulus-weighted integrals of a curved section: E b dr, E b / r dr, E b r dr."""

    stretch: Computed
    curvature: Computed
    lever: Computed


def middle_modulus(
    *, skin_modulus: Values, core_modulus: Values, width: Values, top_bottom_thickness: Values
) -> Computed:
    """Mean modulus in MPa between the walls of a hook lying flat: top, bottom and core side by side.

    E_mid = E_s (2 t_t / b) + E_c (1 - 2 t_t / b); the skin's own where top and bottom meet.
    """
    share = np.minimum(2 * top_bottom_thickness / width, 1.0)
    return skin_modulus * share + core_modulus * (1 - share)


def curved_section(
    *,
    inner_radius: Values,
    height: Values,
    width: Values,
    wall_thickness: Values,
    skin_modulus: Values,
    middle_modulus: Values,
) -> CurvedSection:
    """Integrals over inner wall, middle and outer wall (walls of the skin's modulus)."""
    wall = np.minimum(wall_thickness, height / 2)
    outer_radius = inner_radius + height
    inside, outside = inner_radius + wall, outer_radius - wall
    softer = middle_modulus - skin_modulus
    return CurvedSection(
        width * (skin_modulus * height + softer * (outside - inside)),
        width * (skin_modulus * np.log(outer_radius / inner_radius) + softer * np.log(outside / inside)),
        width * (skin_modulus * (outer_radius**2 - inner_radius**2) + softer * (outside**2 - inside**2)) / 2,
    )


def composite_neutral_radius(section: CurvedSection) -> Computed:
    """Radius of the neutral axis in pure bending in mm: int E b dr / int E b / r dr."""
    return section.stretch / section.curvature


def composite_stresses(
    *,
    force: Values,
    moment_about_centre: Values,
    inner_radius: Values,
    height: Values,
    skin_modulus: Values,
    section: CurvedSection,
) -> FibreStresses:
    """Wall stresses in MPa of a composite curved beam from force and moment about the centre of curvature.

    strain = a + c / r with a A0 + c A1 = N and a S + c A0 = M_O. A load through the centre has
    M_O = 0; a tension N at the centroid with an opening moment M has M_O = N R_c - M.
    """
    stretch, curvature, lever = section
    determinant = stretch**2 - curvature * lever
    constant = (force * stretch - moment_about_centre * curvature) / determinant
    inverse = (moment_about_centre * stretch - force * lever) / determinant
    return FibreStresses(
        skin_modulus * (constant + inverse / inner_radius),
        skin_modulus * (constant + inverse / (inner_radius + height)),
    )


def composite_hook_stresses(
    *,
    force: Values,
    inner_radius: Values,
    height: Values,
    width: Values,
    wall_thickness: Values,
    skin_modulus: Values,
    middle_modulus: Values,
) -> FibreStresses:
    """Wall stresses in MPa at the throat of a printed hook, load through the centre of curvature."""
    section = curved_section(
        inner_radius=inner_radius,
        height=height,
        width=width,
        wall_thickness=wall_thickness,
        skin_modulus=skin_modulus,
        middle_modulus=middle_modulus,
    )
    return composite_stresses(
        force=force,
        moment_about_centre=0.0,
        inner_radius=inner_radius,
        height=height,
        skin_modulus=skin_modulus,
        section=section,
    )


def homogeneous_inner_correction(*, inner_radius: Values, height: Values) -> Computed:
    """Factor on the inner stress of a solid curved beam: 1.05 from r_i / h = 0.5 up, 1.10 below."""
    return np.where(np.asarray(inner_radius) >= 0.5 * np.asarray(height), 1.05, 1.10)[()]


def inner_fibre_correction(
    *, inner_radius: Values, height: Values, skin_modulus: Values = 1.0, middle_modulus: Values = 1.0
) -> Computed:
    """Factor on the inner stress: the finite-element table, at least the homogeneous value.

    Linear between E_mid / E_s = 0.05, 0.2, 0.325, 0.6, 1 and between r_i / h = 0.42 and 0.83; the
    value at 0.83 is held above, the one at 0.42 below it (where `valid_hook` refuses soft middles).
    """
    ratio = np.divide(middle_modulus, skin_modulus)
    sharp = np.interp(ratio, _COMPOSITE_RATIOS, _COMPOSITE_SHARP)
    wide = np.interp(ratio, _COMPOSITE_RATIOS, _COMPOSITE_WIDE)
    share = np.clip((inner_radius / height - _SHARP) / (_WIDE - _SHARP), 0.0, 1.0)
    composite = sharp + (wide - sharp) * share
    return np.maximum(composite, homogeneous_inner_correction(inner_radius=inner_radius, height=height))


def radial_stress(*, moment: Values, radius: Values, height: Values, width: Values) -> Computed:
    """Radial tension at mid-depth of a bend that is being opened, 3 M / (2 b h R), in MPa.

    Splits layers that run concentric with the bend. `radius` is that of the centroid (mm) or, for
    a sharp corner, the one given. Source: curved timber beams (Timoshenko, Strength of Materials II).
    """
    return 3 * moment / (2 * width * height * radius)


def valid_hook(
    *, inner_radius: Values, height: Values, skin_modulus: Values = 1.0, middle_modulus: Values = 1.0
) -> Flags:
    """True where the corrected stress can be trusted.

    r_i / h at least 0.2, E_mid / E_s at least 0.05, and not both E_mid / E_s < 0.2 and r_i / h < 0.5:
    there the inner fibre is off by up to 38 % and the hook must be made solid.
    """
    ratio, sharpness = np.divide(middle_modulus, skin_modulus), inner_radius / height
    return (sharpness >= 0.2) & (ratio >= 0.05) & ((ratio >= 0.2) | (sharpness >= 0.5))
