"""Cantilever snap arms. N, mm, MPa, strain as a fraction, angles in degrees.

The arm may taper in thickness (`thickness_ratio`, tip over root) and in width (`width_ratio`).
The modulus is the secant modulus at the strain reached. Do not let an arm bend across its layers.
Source: beam theory; published snap-fit design guides print the same numbers rounded.
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_ALONG, _SHARE = (_NODES + 1) / 2, _WEIGHTS / 2


def flexibility(*, thickness_ratio: Values = 1.0, width_ratio: Values = 1.0) -> Computed:
    """y E b h^3 / (12 F L^3), both at the root: 1/3 for a plain arm.

    int (1 - s)^2 / ((1 - (1 - beta) s) (1 - (1 - lambda) s)^3) ds by 16-point Gauss quadrature,
    exact to 1e-9 for ratios of 0.2 and more.
    """
    thin = 1 - (1 - np.asarray(thickness_ratio, dtype=float)[..., np.newaxis]) * _ALONG
    narrow = 1 - (1 - np.asarray(width_ratio, dtype=float)[..., np.newaxis]) * _ALONG
    return (_SHARE * (1 - _ALONG) ** 2 / (narrow * thin**3)).sum(axis=-1)


def strain_coefficient(*, thickness_ratio: Values = 1.0, width_ratio: Values = 1.0) -> Computed:
    """K in strain = K h y / L^2: 1.5 for a plain arm, 0.917 when the tip is half as thick."""
    return 1 / (2 * flexibility(thickness_ratio=thickness_ratio, width_ratio=width_ratio))


def root_strain(
    *,
    deflection: Values,
    length: Values,
    root_thickness: Values,
    thickness_ratio: Values = 1.0,
    width_ratio: Values = 1.0,
) -> Computed:
    """Strain at the root when the tip is pushed aside by `deflection`: K h y / L^2."""
    factor = strain_coefficient(thickness_ratio=thickness_ratio, width_ratio=width_ratio)
    return factor * root_thickness * deflection / length**2


def allowable_deflection(
    *,
    allowable_strain: Values,
    length: Values,
    root_thickness: Values,
    thickness_ratio: Values = 1.0,
    width_ratio: Values = 1.0,
) -> Computed:
    """Largest undercut in mm: eps L^2 / (K h)."""
    factor = strain_coefficient(thickness_ratio=thickness_ratio, width_ratio=width_ratio)
    return allowable_strain * length**2 / (factor * root_thickness)


def deflection_force(
    *, strain: Values, length: Values, root_width: Values, root_thickness: Values, secant_modulus: Values
) -> Computed:
    """Force in N across the tip for a root strain: b h^2 E eps / (6 L)."""
    return root_width * root_thickness**2 * secant_modulus * strain / (6 * length)


def mating_force(*, deflection_force: Values, friction: Values, angle_deg: Values) -> Computed:
    """Push (lead angle) or pull (return angle) along the arm in N: P (mu + tan a) / (1 - mu tan a).

    Infinite or negative where the catch locks itself: see `is_self_locking`.
    """
    slope = np.tan(np.radians(angle_deg))
    return deflection_force * (friction + slope) / (1 - friction * slope)


def is_self_locking(*, friction: Values, angle_deg: Values) -> Flags:
    """True where no pull opens the catch without breaking it: mu tan a >= 1."""
    return friction * np.tan(np.radians(angle_deg)) >= 1


def base_rotation_factor(*, length: Values, root_thickness: Values, give: Values = 1.0) -> Computed:
    """Factor by which the give of the wall at the root adds to the deflection: 1 + give h / L.

    `give` 1 to 2 by estimate; take 1 when judging strain (cautious) and 2 when judging force.
    """
    return 1 + give * root_thickness / length


def valid_arm(*, length: Values, root_thickness: Values) -> Flags:
    """True where L / h is 5 or more; shorter arms turn at their base (`base_rotation_factor`)."""
    return length >= 5 * root_thickness


def valid_taper(*, thickness_ratio: Values = 1.0, width_ratio: Values = 1.0) -> Flags:
    """True where the strain is largest at the root: (1 - beta) + 2 (1 - lambda) <= 1."""
    return (1 - width_ratio) + 2 * (1 - thickness_ratio) <= 1 + 1e-12


def valid_strain(*, strain: Values) -> Flags:
    """True where the strain stays below 2 %, up to which a secant modulus serves."""
    return np.abs(strain) < 0.02
