"""Volumes of walls, closed layers and core from the real layers.

Per layer: walls lie within their thickness of the outline; of what is left, the core is the part that has
material in all the layers that top and bottom need above and below it; the rest is closed layers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import manifold3d
import numpy as np

from recommender.errors import InputError
from recommender.geometry.layers import Layers
from recommender.geometry.mesh import Floats

ARC_SEGMENTS = 32
CORNER_DEG = 20.0  # estimate: smaller turns are taken without slowing down


@dataclass(frozen=True)
class LayerRegions:
    """Areas of each layer in mm^2, one array entry per layer.

    Attributes
    ----------
    walls, closed, core : ndarray
    outline_length : ndarray
        Length of all outlines, mm.
    corners : ndarray
        Number of corners of the outlines that turn by more than `CORNER_DEG`.
    loops : ndarray
        Number of closed outlines.
    diagonal : ndarray
        Diagonal of the rectangle round each layer, mm.
    layer_thickness : ndarray
        mm.
    """

    walls: Floats
    closed: Floats
    core: Floats
    outline_length: Floats
    corners: Floats
    loops: Floats
    diagonal: Floats
    layer_thickness: Floats

    @property
    def wall_volume(self) -> float:
        """mm^3."""
        return float(self.walls @ self.layer_thickness)

    @property
    def closed_volume(self) -> float:
        """Volume of closed top and bottom layers, mm^3."""
        return float(self.closed @ self.layer_thickness)

    @property
    def core_volume(self) -> float:
        """Volume that infill has to fill in part, mm^3."""
        return float(self.core @ self.layer_thickness)


def inset(section: manifold3d.CrossSection, distance: float) -> manifold3d.CrossSection:
    """A section without a border of `distance` mm."""
    if distance <= 0:
        return section
    return section.offset(-distance, manifold3d.JoinType.Round, 2.0, ARC_SEGMENTS)


def layer_regions(layers: Layers, walls: int, line_width: float, top: int, bottom: int) -> LayerRegions:
    """Areas of walls, closed layers and core of every layer.

    Parameters
    ----------
    walls : int
        Number of walls.
    line_width : float
        mm.
    top, bottom : int
        Number of closed layers above and below.
    """
    if min(walls, top, bottom) < 0 or not line_width > 0:
        raise InputError("walls", f"{walls} walls, {top} top and {bottom} bottom layers.", "Use 0 or more.")
    inner = {int(k): inset(layers.outlines[k], walls * line_width) for k in layers.distinct}
    inner_area = layers.by_distinct({k: section.area() for k, section in inner.items()})
    core = np.array(list(_core_areas(layers, inner, top, bottom)))
    shapes = {int(k): outline_figures(layers.outlines[k]) for k in layers.distinct}
    length, corners, loops, diagonal = (
        layers.by_distinct({k: figures[column] for k, figures in shapes.items()}) for column in range(4)
    )
    return LayerRegions(
        np.maximum(layers.areas - inner_area, 0.0),
        inner_area - core,
        core,
        length,
        corners,
        loops,
        diagonal,
        layers.thicknesses,
    )


def _core_areas(
    layers: Layers, inner: dict[int, manifold3d.CrossSection], top: int, bottom: int
) -> Iterator[float]:
    """Area of each layer's inside that is covered above and below; equal cases are computed once."""
    known: dict[tuple[int, frozenset[int]], float] = {}
    for k in range(len(layers)):
        if k < bottom or k + top >= len(layers):
            yield 0.0
            continue
        own = int(layers.same_as[k])
        around = frozenset(layers.same_as[k - bottom : k + top + 1].tolist()) - {own}
        if (own, around) not in known:
            section = inner[own]
            for other in sorted(around):
                section = section ^ layers.outlines[other]
            known[own, around] = section.area()
        yield known[own, around]


def outline_figures(section: manifold3d.CrossSection) -> tuple[float, float, float, float]:
    """Length of the outlines in mm, number of corners and of loops, diagonal of the box in mm."""
    rings = section.to_polygons()
    figures = [_ring_figures(ring) for ring in rings]
    x0, y0, x1, y1 = section.bounds() if rings else (0.0, 0.0, 0.0, 0.0)
    diagonal = float(np.hypot(x1 - x0, y1 - y0))
    return sum(f[0] for f in figures), sum(f[1] for f in figures), float(len(rings)), diagonal


def _ring_figures(ring: Floats) -> tuple[float, float]:
    sides = np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    before = np.roll(sides, 1, axis=0)
    turn = np.abs(
        np.arctan2(
            before[:, 0] * sides[:, 1] - before[:, 1] * sides[:, 0],
            (before * sides).sum(axis=1),
        )
    )
    return float(lengths.sum()), float((turn > np.radians(CORNER_DEG)).sum())
