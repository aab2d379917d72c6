"""Directional stiffness and strength: raster angles, the layer plane, failure criteria.

X is the strength along beads, Z across layers (tension), S_z the interlayer shear strength, in MPa.
Use the interlayer and the in-plane criterion for the verdict and Tsai-Hill as a cross-check.
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

LAYER_FRICTION = 0.3
"""Friction between layers under compression; estimate, no measurement behind it."""

INTERLAYER_INTERCEPT, INTERLAYER_SLOPE = 79.9, 62.8
"""Bending strength of PLA across layers in MPa, 79.9 - 62.8 h / d: our fit to twenty conditions on one
machine (R2 0.96; a whole nozzle size left out: mean error 9 %). Source: Kuznetsov and others, Polymers
10(3):313, 2018, Table 1."""


def layer_height_factor(
    *,
    layer_height: Values,
    nozzle_diameter: Values,
    reference_ratio: Values = 0.5,
    intercept: Values = INTERLAYER_INTERCEPT,
    slope: Values = INTERLAYER_SLOPE,
) -> Computed:
    """Interlayer strength over that at the reference ratio of layer height to nozzle diameter.

    (p - q h / d) / (p - q r). Fitted for PLA; for other materials an estimate. Holds for h / d of
    0.15 to 1 (`valid_layer_height`).
    """
    return (intercept - slope * layer_height / nozzle_diameter) / (intercept - slope * reference_ratio)


def bead_contact(*, layer_height: Values, line_width: Values) -> Computed:
    """Share of a layer over which beads lie on the beads below: (w - h) / (w - (1 - pi / 4) h).

    A bead is a rectangle with half-round sides, w wide and h high, so it is flat over w - h; lines that leave no
    void stand w - (1 - pi / 4) h apart (area of the bead over its height). Geometry alone, nothing fitted; holds
    for h < w.
    """
    return (line_width - layer_height) / (line_width - (1 - np.pi / 4) * layer_height)


def valid_layer_height(*, layer_height: Values, nozzle_diameter: Values) -> Flags:
    """True for a layer height of 0.15 to 1 nozzle diameter, the range of the fit."""
    ratio = layer_height / nozzle_diameter
    return (ratio >= 0.15 - 1e-12) & (ratio <= 1 + 1e-12)


def raster_modulus(
    *,
    modulus_along: Values,
    modulus_across: Values,
    shear_modulus: Values,
    poisson_ratio: Values,
    angle_deg: Values,
) -> Computed:
    """Young's modulus in MPa of one raster direction at `angle_deg` to the load.

    1/E = c^4/E1 + (1/G12 - 2 nu12/E1) s^2 c^2 + s^4/E2. Source: Jones, Mechanics of Composite
    Materials, 2nd ed., ch. 2.
    """
    angle = np.radians(angle_deg)
    c2, s2 = np.cos(angle) ** 2, np.sin(angle) ** 2
    coupling = 1 / shear_modulus - 2 * poisson_ratio / modulus_along
    return 1 / (c2**2 / modulus_along + coupling * c2 * s2 + s2**2 / modulus_across)


def _reduced_stiffness(
    modulus_along: Values, modulus_across: Values, poisson_ratio: Values
) -> tuple[Computed, Computed, Computed]:
    minor = poisson_ratio * modulus_across / modulus_along
    denominator = 1 - poisson_ratio * minor
    return (
        modulus_along / denominator,
        modulus_across / denominator,
        poisson_ratio * modulus_across / denominator,
    )


def angle_ply_modulus(
    *,
    modulus_along: Values,
    modulus_across: Values,
    shear_modulus: Values,
    poisson_ratio: Values,
    angle_deg: Values = 45.0,
) -> Computed:
    """Young's modulus in MPa of layers alternating between + and - `angle_deg` to the load.

    E = (A11 A22 - A12^2) / A22 with the averaged stiffness of classical lamination (Jones, ch. 4).
    """
    angle = np.radians(angle_deg)
    c2, s2 = np.cos(angle) ** 2, np.sin(angle) ** 2
    q11, q22, q12 = _reduced_stiffness(modulus_along, modulus_across, poisson_ratio)
    mixed = 2 * (q12 + 2 * shear_modulus) * c2 * s2
    a11 = q11 * c2**2 + mixed + q22 * s2**2
    a22 = q11 * s2**2 + mixed + q22 * c2**2
    a12 = (q11 + q22 - 4 * shear_modulus) * c2 * s2 + q12 * (c2**2 + s2**2)
    return (a11 * a22 - a12**2) / a22


def angle_ply_shear_modulus(
    *,
    modulus_along: Values,
    modulus_across: Values,
    shear_modulus: Values,
    poisson_ratio: Values,
    angle_deg: Values = 45.0,
) -> Computed:
    """In-plane shear modulus in MPa of layers alternating between + and - `angle_deg` (Jones, ch. 4)."""
    angle = np.radians(angle_deg)
    c2, s2 = np.cos(angle) ** 2, np.sin(angle) ** 2
    q11, q22, q12 = _reduced_stiffness(modulus_along, modulus_across, poisson_ratio)
    return (q11 + q22 - 2 * q12) * c2 * s2 + shear_modulus * (c2 - s2) ** 2


def cross_ply_modulus(*, modulus_along: Values, modulus_across: Values) -> Computed:
    """Young's modulus in MPa of layers alternating between 0 and 90 degrees, (E1 + E2) / 2."""
    return (modulus_along + modulus_across) / 2


def layer_plane_stresses(*, axial_stress: Values, angle_deg: Values) -> tuple[Computed, Computed]:
    """Normal and shear stress in MPa on the layer plane for a load at `angle_deg` to that plane.

    sigma_z = sigma sin^2, tau_z = sigma sin cos (Mohr's circle).
    """
    angle = np.radians(angle_deg)
    return axial_stress * np.sin(angle) ** 2, axial_stress * np.sin(angle) * np.cos(angle)


def tsai_hill_strength(
    *, strength_along: Values, strength_across: Values, shear_strength: Values, angle_deg: Values
) -> Computed:
    """Strength in MPa for a pull at `angle_deg` to the layer plane, Tsai-Hill criterion.

    1/sigma^2 = c^4/X^2 + (1/S^2 - 1/X^2) s^2 c^2 + s^4/Z^2. Source: Hill 1950; Azzi and Tsai 1965.
    """
    angle = np.radians(angle_deg)
    c2, s2 = np.cos(angle) ** 2, np.sin(angle) ** 2
    along, across = strength_along**-2.0, strength_across**-2.0
    return 1 / np.sqrt(c2**2 * along + (shear_strength**-2.0 - along) * c2 * s2 + s2**2 * across)


def maximum_stress_strength(
    *, strength_along: Values, strength_across: Values, shear_strength: Values, angle_deg: Values
) -> Computed:
    """Strength in MPa for a pull at `angle_deg` to the layer plane, maximum-stress criterion.

    min(X / c^2, Z / s^2, S / |s c|); infinite terms drop out at 0 and 90 degrees.
    """
    angle = np.radians(angle_deg)
    c2, s2 = np.cos(angle) ** 2, np.sin(angle) ** 2
    return 1 / np.maximum(
        np.maximum(c2 / strength_along, s2 / strength_across), np.sqrt(c2 * s2) / shear_strength
    )


def interlayer_utilisation(
    *,
    normal_stress: Values,
    shear_stress: Values,
    strength_across: Values,
    shear_strength: Values,
    friction: Values = LAYER_FRICTION,
) -> Computed:
    """Share of the layer bond's strength in use: 1 at failure, inverse of the reserve factor.

    Tension (normal_stress > 0): sqrt((sigma_z / Z)^2 + (tau_z / S_z)^2), after Hashin, Journal of
    Applied Mechanics 47, 1980. Compression: (|tau_z| - mu |sigma_z|) / S_z, Mohr-Coulomb.
    Stresses in MPa on the layer plane; scales linearly with the load in both branches.
    """
    sliding = np.maximum(np.abs(shear_stress) + friction * np.minimum(normal_stress, 0.0), 0.0)
    return np.hypot(np.maximum(normal_stress, 0.0) / strength_across, sliding / shear_strength)


def interlayer_failure_index(
    *,
    normal_stress: Values,
    shear_stress: Values,
    strength_across: Values,
    shear_strength: Values,
    friction: Values = LAYER_FRICTION,
) -> Computed:
    """Square of `interlayer_utilisation`, the form printed in papers: fails at 1."""
    return (
        interlayer_utilisation(
            normal_stress=normal_stress,
            shear_stress=shear_stress,
            strength_across=strength_across,
            shear_strength=shear_strength,
            friction=friction,
        )
        ** 2
    )


def interlayer_reserve(
    *,
    normal_stress: Values,
    shear_stress: Values,
    strength_across: Values,
    shear_strength: Values,
    friction: Values = LAYER_FRICTION,
) -> Computed:
    """Factor by which the load may grow before the layer bond fails; infinite without stress."""
    used = interlayer_utilisation(
        normal_stress=normal_stress,
        shear_stress=shear_stress,
        strength_across=strength_across,
        shear_strength=shear_strength,
        friction=friction,
    )
    with np.errstate(divide="ignore"):
        return np.divide(1.0, used)


def interlayer_shear_strength(
    *, normal_stress: Values, shear_strength: Values, friction: Values = LAYER_FRICTION
) -> Computed:
    """Shear strength in MPa of the layer bond under compression: S_z + mu |sigma_z| (estimate of mu)."""
    return shear_strength + friction * np.maximum(-normal_stress, 0.0)


def in_plane_utilisation(
    *,
    stress_along: Values,
    stress_across: Values,
    shear_stress: Values,
    strength_along: Values,
    strength_across: Values,
    shear_strength: Values,
) -> Computed:
    """Share of a bead's in-plane strength in use, maximum-stress criterion: 1 at failure.

    The strengths are those of the sign at hand (tension or compression), MPa.
    """
    normal = np.maximum(np.abs(stress_along) / strength_along, np.abs(stress_across) / strength_across)
    return np.maximum(normal, np.abs(shear_stress) / shear_strength)
