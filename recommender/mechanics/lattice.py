"""Infill lattices: moduli and strengths against relative density, line spacing, wall buckling.

Relative density is a fraction from 0 to 1. Coefficients C and n of the power laws are arguments:
they live in the knowledge base with their sources. They hold for ideal walls and 0.15 to 0.5 of
density (`valid_power_law`); a printed single-line wall reaches 0.7 to 0.9 of them (estimate):
`wall_efficiency`.
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values
from recommender.mechanics.columns import PLATE_HINGED, plate_buckling_stress

GYROID_AREA_PER_CELL = 3.0915
"""Area of the gyroid surface in a cubic cell of edge one (minimal-surface literature)."""


def power_law(
    *,
    relative_density: Values,
    coefficient: Values,
    exponent: Values,
    solid_value: Values,
    wall_efficiency: Values = 1.0,
) -> Computed:
    """Modulus or strength of a lattice in MPa: eta C rho^n times the value of the solid."""
    return wall_efficiency * coefficient * relative_density**exponent * solid_value


def upper_bound_modulus(*, relative_density: Values, modulus: Values) -> Computed:
    """Young's modulus rho E / (2 - rho) in MPa that no isotropic cell exceeds: a cap for power laws.

    Two-dimensional Hashin-Shtrikman bound at Poisson's ratio 1/3; in three dimensions an estimate.
    """
    return modulus * relative_density / (2 - relative_density)


def foam_modulus(*, relative_density: Values, modulus: Values) -> Computed:
    """Young's modulus rho^2 E of an open-cell foam (Gibson and Ashby, Cellular Solids, 2nd ed., ch. 5)."""
    return modulus * relative_density**2


def foam_shear_modulus(*, relative_density: Values, modulus: Values) -> Computed:
    """Shear modulus 3/8 rho^2 E of an open-cell foam (Gibson and Ashby, ch. 5)."""
    return 0.375 * modulus * relative_density**2


def foam_plastic_collapse(*, relative_density: Values, strength: Values) -> Computed:
    """Plastic collapse stress 0.3 rho^1.5 sigma_s of an open-cell foam (Gibson and Ashby, ch. 5)."""
    return 0.3 * strength * relative_density**1.5


def foam_elastic_collapse(*, relative_density: Values, modulus: Values) -> Computed:
    """Elastic collapse stress 0.05 rho^2 E of an open-cell foam (Gibson and Ashby, ch. 5)."""
    return 0.05 * modulus * relative_density**2


def triangle_modulus(*, relative_density: Values, modulus: Values) -> Computed:
    """In-plane Young's modulus rho E / 3 of a triangular grid, same in all directions.

    6 to 42 % below the computed cells at 15 to 50 % density, so it errs to the soft side. Source:
    Fleck, Deshpande and Ashby, Proc. R. Soc. A 466, 2010.
    """
    return modulus * relative_density / 3


TRIANGLE_POISSON_RATIO = 1 / 3
"""In-plane Poisson's ratio of a triangular grid (the same source)."""


def triangle_shear_modulus(*, relative_density: Values, modulus: Values) -> Computed:
    """In-plane shear modulus of a triangular grid, E_xy / (2 (1 + 1/3)) = rho E / 8."""
    return modulus * relative_density / 8


def prismatic_modulus(*, relative_density: Values, modulus: Values) -> Computed:
    """Young's modulus rho E along the walls of any prismatic lattice (the build axis); exact."""
    return modulus * relative_density


def prismatic_shear_modulus(*, relative_density: Values, shear_modulus: Values) -> Computed:
    """Out-of-plane shear modulus rho G / 2 of a prismatic lattice (Gibson and Ashby, ch. 4)."""
    return shear_modulus * relative_density / 2


def honeycomb_modulus(*, relative_density: Values, modulus: Values) -> Computed:
    """In-plane Young's modulus 1.5 rho^3 E of a regular honeycomb (Gibson and Ashby, ch. 4)."""
    return 1.5 * modulus * relative_density**3


def honeycomb_plastic_collapse(*, relative_density: Values, strength: Values) -> Computed:
    """In-plane plastic collapse stress 0.5 rho^2 sigma_s of a regular honeycomb (Gibson and Ashby, ch. 4)."""
    return 0.5 * strength * relative_density**2


def honeycomb_wall_ratio(*, relative_density: Values) -> Computed:
    """Wall thickness over wall length of a regular honeycomb, (sqrt 3 / 2) rho."""
    return np.sqrt(3) / 2 * relative_density


def line_spacing(*, line_width: Values, relative_density: Values, directions: Values) -> Computed:
    """Distance between parallel infill lines in mm when `directions` families share the density.

    directions: 1 for lines, 2 for a grid, 3 for triangles and for cubes on their corner.
    """
    return directions * line_width / relative_density


def relative_density_of_lines(*, line_width: Values, spacing: Values, directions: Values) -> Computed:
    """Relative density of `directions` families of lines (mm) at `spacing` (mm); overlaps left out."""
    return directions * line_width / spacing


def gyroid_cell_size(*, line_width: Values, relative_density: Values) -> Computed:
    """Edge of the gyroid's cubic cell in mm for a sheet of `line_width`: 3.0915 w / rho (derived here)."""
    return GYROID_AREA_PER_CELL * line_width / relative_density


def honeycomb_cell_size(*, line_width: Values, relative_density: Values) -> Computed:
    """Distance across flats of a hexagonal cell in mm with single walls: 2 w / rho (derived here)."""
    return 2 * line_width / relative_density


def wall_buckling_stress(
    *,
    modulus: Values,
    poisson_ratio: Values,
    line_width: Values,
    spacing: Values,
    coefficient: Values = PLATE_HINGED,
) -> Computed:
    """Stress in MPa in an infill wall when it buckles between crossings; valid for w / s < 0.1."""
    return plate_buckling_stress(
        modulus=modulus,
        poisson_ratio=poisson_ratio,
        thickness=line_width,
        width=spacing,
        coefficient=coefficient,
    )


def collapse_stress(
    *, relative_strength_density: Values, strength: Values, wall_buckling_stress: Values
) -> Computed:
    """Stress on the lattice in MPa at which its loaded walls yield or buckle, whichever is first.

    `relative_strength_density` is the share of area that carries: rho along prismatic walls, rho / 2
    for one family of a grid, C rho^n for others.
    """
    return relative_strength_density * np.minimum(strength, wall_buckling_stress)


def valid_power_law(*, relative_density: Values) -> Flags:
    """True where the computed power laws hold: relative density 0.15 to 0.5 (0.14 to 0.51 computed)."""
    return (relative_density >= 0.14) & (relative_density <= 0.51)


def valid_wall_buckling(*, line_width: Values, spacing: Values) -> Flags:
    """True where an infill wall is a thin plate, w / s below 0.1."""
    return line_width / spacing < 0.1
