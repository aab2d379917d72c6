"""Deposited beads: their section, the voids between them, the necks between layers, the shell's share.

A bead is a stadium, `line_width` wide and `layer_height` high (mm), with round flanks.
Derived here from geometry unless a source is named.
"""

from __future__ import annotations

import numpy as np

from recommender.mechanics.broadcasting import Computed, Flags, Values


def bead_area(*, line_width: Values, layer_height: Values) -> Computed:
    """Area of one bead in mm^2: (w - h) h + pi h^2 / 4."""
    return layer_height * (line_width - (1 - np.pi / 4) * layer_height)


def gapless_pitch(*, line_width: Values, layer_height: Values) -> Computed:
    """Distance between beads in mm at which their volume just fills the layer: w - h (1 - pi/4)."""
    return line_width - (1 - np.pi / 4) * layer_height


def void_fraction(*, line_width: Values, layer_height: Values, pitch: Values) -> Computed:
    """Share of the area left as void when beads lie `pitch` apart (mm): 1 - A / (p h)."""
    return 1 - bead_area(line_width=line_width, layer_height=layer_height) / (pitch * layer_height)


def neck_fraction(*, line_width: Values, layer_height: Values) -> Computed:
    """Flat contact between layers over line width: (w - h) / w."""
    return 1 - layer_height / line_width


def modulus_along_beads(*, modulus: Values, void_fraction: Values) -> Computed:
    """Young's modulus along the beads in MPa: (1 - a) E.

    Source: Rodriguez, Thomas and Renaud, Journal of Mechanical Design 125, 2003.
    """
    return modulus * (1 - void_fraction)


def modulus_across_beads(*, modulus: Values, void_fraction: Values) -> Computed:
    """Young's modulus across the beads in MPa: (1 - sqrt a) E (the same source)."""
    return modulus * (1 - np.sqrt(void_fraction))


def wall_thickness(*, walls: Values, line_width: Values, overlap: Values = 0.0) -> Computed:
    """Thickness of `walls` lines side by side in mm; each pair overlaps by `overlap` (mm)."""
    return walls * line_width - (walls - 1) * overlap


def core_volume(
    *, length: Values, width: Values, height: Values, wall_thickness: Values, top_bottom_thickness: Values
) -> Computed:
    """Volume in mm^3 inside walls and top/bottom layers of a box lying on the bed; zero when solid."""
    return (
        np.maximum(length - 2 * wall_thickness, 0.0)
        * np.maximum(width - 2 * wall_thickness, 0.0)
        * np.maximum(height - 2 * top_bottom_thickness, 0.0)
    )


def shell_fraction(*, total_volume: Values, core_volume: Values) -> Computed:
    """Share of the volume that is walls and top/bottom layers."""
    return 1 - core_volume / total_volume


def effective_density(*, shell_fraction: Values, relative_density: Values) -> Computed:
    """Plastic per volume of the part, 0 to 1: shell plus infill at `relative_density`."""
    return shell_fraction + (1 - shell_fraction) * relative_density


def valid_bead(*, line_width: Values, layer_height: Values) -> Flags:
    """True where a bead is at least as wide as it is high."""
    return line_width >= layer_height
