"""Columns and local buckling of skins. Loads in N, stresses and moduli in MPa, lengths in mm.

For a sustained load use the creep modulus (creep buckling). Sources: Shigley's Mechanical
Engineering Design, ch. 4 (Euler, J. B. Johnson); Timoshenko and Gere, Theory of Elastic Stability,
2nd ed. (plates, shear-weak columns); Hoff and Mautner, 1945, and Allen, 1969 (wrinkling).
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

EFFECTIVE_LENGTH_FACTORS = {"pinned": 1.0, "fixed": 0.65, "fixed_free": 2.0}
"""Effective over real length. Theory gives 0.5 for fixed ends; 0.65 allows for the give of a real clamp."""

WRINKLING_DESIGN = 0.5
"""Coefficient that leaves about 40 % for waviness of the skin (Hoff and Mautner; Allen)."""

WRINKLING_THEORY = 0.82
"""Coefficient of a flat skin; finite elements give 0.81 to 0.88."""

PLATE_HINGED = 4.0
"""Plate buckling coefficient, long plate or strip held on hinged edges (Timoshenko and Gere)."""

PLATE_CLAMPED = 6.97
"""Plate buckling coefficient, long edges clamped (Timoshenko and Gere)."""

PLATE_FREE_EDGE = 0.43
"""Plate buckling coefficient, one long edge hinged and one free (Timoshenko and Gere)."""


def slenderness(
    *, length: Values, effective_length_factor: Values, second_moment: Values, area: Values
) -> Computed:
    """Slenderness K L / r with r = sqrt(I / A)."""
    return effective_length_factor * length / np.sqrt(second_moment / area)


def transition_slenderness(*, modulus: Values, compressive_strength: Values) -> Computed:
    """Slenderness C_c = sqrt(2 pi^2 E / S_c) where Johnson's parabola meets Euler's curve."""
    return np.sqrt(2 * np.pi**2 * modulus / compressive_strength)


def is_euler(*, slenderness: Values, modulus: Values, compressive_strength: Values) -> Flags:
    """True where the column is slender enough to buckle elastically (Euler), else Johnson's range."""
    return slenderness > transition_slenderness(modulus=modulus, compressive_strength=compressive_strength)


def euler_load(*, flexural_rigidity: Values, length: Values, effective_length_factor: Values) -> Computed:
    """Elastic buckling load pi^2 EI / (K L)^2 in N, shear left out."""
    return np.pi**2 * flexural_rigidity / (effective_length_factor * length) ** 2


def engesser_load(*, euler_load: Values, shear_rigidity: Values) -> Computed:
    """Elastic buckling load in N of a column with a shear-soft core: 1/P = 1/P_E + 1/GA (Engesser)."""
    return euler_load / (1 + euler_load / shear_rigidity)


def critical_load(*, elastic_load: Values, squash_load: Values) -> Computed:
    """Buckling load in N: Euler when slender, Johnson's parabola when stocky.

    P = P_el for P_el < P_y / 2, else P_y (1 - P_y / (4 P_el)), with P_y the load that crushes the
    section (strength times area). Stress form: S_c (1 - (KL/r)^2 / (2 C_c^2)).
    """
    stocky = squash_load * (1 - squash_load / (4 * elastic_load))
    return np.where(elastic_load < squash_load / 2, elastic_load, stocky)[()]


def critical_stress(*, slenderness: Values, modulus: Values, compressive_strength: Values) -> Computed:
    """Buckling stress in MPa of a homogeneous column: pi^2 E / (K L / r)^2 or Johnson's parabola."""
    return critical_load(elastic_load=np.pi**2 * modulus / slenderness**2, squash_load=compressive_strength)


def plate_buckling_stress(
    *,
    modulus: Values,
    poisson_ratio: Values,
    thickness: Values,
    width: Values,
    coefficient: Values = PLATE_HINGED,
) -> Computed:
    """Buckling stress k pi^2 E / (12 (1 - nu^2)) (t / b)^2 in MPa of a long panel of `width`.

    Also the dimpling of a skin between infill lines: `width` is then the line spacing.
    """
    return coefficient * np.pi**2 * modulus / (12 * (1 - poisson_ratio**2)) * (thickness / width) ** 2


def wrinkling_stress(
    *,
    skin_modulus: Values,
    core_modulus: Values,
    core_shear_modulus: Values,
    coefficient: Values = WRINKLING_DESIGN,
) -> Computed:
    """Compressive stress in MPa at which a skin wrinkles on its core: k (E_f E_c G_c)^(1/3).

    At 10 % infill and more, dimpling between the lines comes first. Exceeds any polymer's strength
    unless the core is very soft.
    """
    return coefficient * np.cbrt(skin_modulus * core_modulus * core_shear_modulus)
