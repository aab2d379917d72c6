"""Areas and moments of solid sections: rectangle, round bar, tube.

"Height" is the depth in the direction of the bending load, "width" lies across it. For bending
about the other axis of a rectangle swap the two arguments.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from recommender.mechanics.broadcasting import Computed, Values

SHEAR_AREA_RECTANGLE = 5 / 6
"""Share of the area that works in shear, solid rectangle (Timoshenko's shear coefficient)."""

SHEAR_AREA_ROUND = 0.9
"""Share of the area that works in shear, solid round bar."""

PEAK_SHEAR_RECTANGLE = 1.5
"""Largest over mean shear stress, solid rectangle (Gere and Goodno, Mechanics of Materials, ch. 5)."""

PEAK_SHEAR_ROUND = 4 / 3
"""Largest over mean shear stress, solid round bar (the same chapter)."""


@dataclass(frozen=True)
class SectionProperties:
    """Properties of one solid section, or of many when the sizes are arrays.

    Attributes
    ----------
    area : mm^2
    second_moment_height, second_moment_width : mm^4, bending through the height, or the width
    section_modulus_height, section_modulus_width : mm^3, second moment over half the depth
    shear_area_height, shear_area_width : mm^2, area that works in shear
    torsion_constant : mm^4, J in twist = T L / (G J)
    torsion_modulus : mm^3, T over the largest shear stress
    peak_shear_factor : largest over mean transverse shear stress
    """

    area: Computed
    second_moment_height: Computed
    second_moment_width: Computed
    section_modulus_height: Computed
    section_modulus_width: Computed
    shear_area_height: Computed
    shear_area_width: Computed
    torsion_constant: Computed
    torsion_modulus: Computed
    peak_shear_factor: float


def rectangle_second_moment(*, width: Values, height: Values) -> Computed:
    """Second moment of area b h^3 / 12 in mm^4, bending through `height` (both in mm)."""
    return width * height**3 / 12


def rectangle_section_modulus(*, width: Values, height: Values) -> Computed:
    """Section modulus b h^2 / 6 in mm^3, bending through `height` (both in mm)."""
    return width * height**2 / 6


def rectangle_torsion_constant(*, width: Values, height: Values) -> Computed:
    """Torsion constant J of a solid rectangle in mm^4; the order of the sides (mm) does not matter.

    J = a b^3 (1/3 - 0.21 (b/a) (1 - b^4 / (12 a^4))), a the long and b the short side.

    Within 0.5 % of the exact series; zero for a vanishing side.
    Source: Roark's Formulas for Stress and Strain, 8th ed., Table 10.1.
    """
    short = np.minimum(width, height)
    ratio = short / np.maximum(np.maximum(width, height), 1e-12)
    return width * height * short**2 * (1 / 3 - 0.21 * ratio * (1 - ratio**4 / 12))


def rectangle_torsion_modulus(*, width: Values, height: Values) -> Computed:
    """Torque over the largest shear stress of a solid rectangle, alpha a b^2, in mm^3.

    alpha = 1 / (3 (1 + 0.6095 s + 0.8865 s^2 - 1.8023 s^3 + 0.91 s^4)), s = b/a, a the long side.
    The stress acts at the middle of the long side (mm). alpha is 0.208 for a square, 1/3 for a strip.

    Source: Roark's Formulas for Stress and Strain, 8th ed., Table 10.1, in full instead of half sides.
    """
    short = np.minimum(width, height)
    s = short / np.maximum(width, height)
    return width * height * short / (3 * (1 + 0.6095 * s + 0.8865 * s**2 - 1.8023 * s**3 + 0.91 * s**4))


def round_second_moment(*, outer_diameter: Values, inner_diameter: Values = 0.0) -> Computed:
    """Second moment of area pi (D^4 - d^4) / 64 of a round bar or tube in mm^4 (diameters in mm)."""
    return np.pi / 64 * (outer_diameter**4 - inner_diameter**4)


def round_area(*, outer_diameter: Values, inner_diameter: Values = 0.0) -> Computed:
    """Area pi (D^2 - d^2) / 4 of a round bar or tube in mm^2 (diameters in mm)."""
    return np.pi / 4 * (outer_diameter**2 - inner_diameter**2)


def round_shear_coefficient(*, diameter_ratio: Values, poisson_ratio: Values) -> Computed:
    """Share of a tube's area that works in shear; 0.87 to 0.9 when solid, about 0.53 when thin.

    k = 6 (1+nu) (1+m^2)^2 / ((7+6nu) (1+m^2)^2 + (20+12nu) m^2), m inner over outer diameter.
    Source: Cowper, Journal of Applied Mechanics 33, 1966, pp. 335-340.
    """
    square = (1 + diameter_ratio**2) ** 2
    return (
        6
        * (1 + poisson_ratio)
        * square
        / ((7 + 6 * poisson_ratio) * square + (20 + 12 * poisson_ratio) * diameter_ratio**2)
    )


def rectangle(*, width: Values, height: Values) -> SectionProperties:
    """All properties of a solid rectangle; `width` and `height` in mm."""
    area = width * height
    return SectionProperties(
        area=area,
        second_moment_height=rectangle_second_moment(width=width, height=height),
        second_moment_width=rectangle_second_moment(width=height, height=width),
        section_modulus_height=rectangle_section_modulus(width=width, height=height),
        section_modulus_width=rectangle_section_modulus(width=height, height=width),
        shear_area_height=SHEAR_AREA_RECTANGLE * area,
        shear_area_width=SHEAR_AREA_RECTANGLE * area,
        torsion_constant=rectangle_torsion_constant(width=width, height=height),
        torsion_modulus=rectangle_torsion_modulus(width=width, height=height),
        peak_shear_factor=PEAK_SHEAR_RECTANGLE,
    )


def tube(*, outer_diameter: Values, inner_diameter: Values) -> SectionProperties:
    """All properties of a round tube (diameters in mm); inner diameter 0 gives the round bar.

    The shear area uses Cowper's coefficient at Poisson's ratio 0.35; the peak shear factor 2 is that
    of a thin tube and errs to the safe side for a thick one.
    """
    area = round_area(outer_diameter=outer_diameter, inner_diameter=inner_diameter)
    second_moment = round_second_moment(outer_diameter=outer_diameter, inner_diameter=inner_diameter)
    modulus = second_moment / (outer_diameter / 2)
    shear_area = area * round_shear_coefficient(
        diameter_ratio=inner_diameter / outer_diameter, poisson_ratio=0.35
    )
    return SectionProperties(
        area=area,
        second_moment_height=second_moment,
        second_moment_width=second_moment,
        section_modulus_height=modulus,
        section_modulus_width=modulus,
        shear_area_height=shear_area,
        shear_area_width=shear_area,
        torsion_constant=2 * second_moment,
        torsion_modulus=2 * modulus,
        peak_shear_factor=2.0,
    )


def round_bar(*, diameter: Values) -> SectionProperties:
    """All properties of a solid round bar; `diameter` in mm."""
    area = round_area(outer_diameter=diameter)
    second_moment = round_second_moment(outer_diameter=diameter)
    modulus = second_moment / (diameter / 2)
    return SectionProperties(
        area=area,
        second_moment_height=second_moment,
        second_moment_width=second_moment,
        section_modulus_height=modulus,
        section_modulus_width=modulus,
        shear_area_height=SHEAR_AREA_ROUND * area,
        shear_area_width=SHEAR_AREA_ROUND * area,
        torsion_constant=2 * second_moment,
        torsion_modulus=2 * modulus,
        peak_shear_factor=PEAK_SHEAR_ROUND,
    )
