"""Round holes of a model and the metric hardware that fits them.

Clearance holes: ISO 273, fine and medium series. Holes to tap: ISO 2306. Figures recalled from the standards,
not read there (grade B).
"""

from __future__ import annotations

from dataclasses import dataclass

import manifold3d
import numpy as np

from recommender.geometry.layers import cut
from recommender.geometry.mesh import Floats
from recommender.geometry.orientation import rotation_to_up

CLEARANCE_MM = {
    "M2": (2.2, 2.4), "M2.5": (2.7, 2.9), "M3": (3.2, 3.4), "M4": (4.3, 4.5), "M5": (5.3, 5.5), "M6": (6.4, 6.6),
    "M8": (8.4, 9.0), "M10": (10.5, 11.0), "M12": (13.0, 13.5), "M16": (17.0, 17.5),
}  # fmt: skip
TAPPING_MM = {
    "M3": (2.5,), "M4": (3.3,), "M5": (4.2,), "M6": (5.0,), "M8": (6.8,), "M10": (8.5,), "M12": (10.2,),
    "M16": (14.0,),
}  # fmt: skip
FITS_WITHIN_MM = 0.25  # what a printed hole may be off and still be meant for the screw; estimate
PLANES = 150
ROUNDNESS = 0.97
LEAST_CORNERS = 10
LEAST_PLANES = 2


@dataclass(frozen=True)
class Hole:
    """A round hole: axis (x, y or z), centre across the axis and diameter in mm, and how far it runs."""

    axis: str
    centre: tuple[float, float]
    diameter: float
    depth: float

    @property
    def hardware(self) -> str:
        """The metric screw that it fits, or an empty string."""
        return hardware_for(self.diameter)


def hardware_for(diameter: float) -> str:
    """The metric screw that a hole of this diameter (mm) clears or holds, or an empty string."""
    kinds = (("clears", CLEARANCE_MM), ("taps", TAPPING_MM))
    near = [
        (abs(size - diameter), f"{word} {name}")
        for word, table in kinds
        for name, sizes in table.items()
        for size in sizes
        if abs(size - diameter) <= FITS_WITHIN_MM
    ]
    return min(near)[1] if near else ""


def find_holes(solid: manifold3d.Manifold) -> list[Hole]:
    """Round holes along x, y and z, by the round rings in cuts across each axis."""
    found: list[Hole] = []
    for axis, name in enumerate("xyz"):
        rotation = rotation_to_up(np.eye(3)[axis])
        turned = solid.transform(np.hstack([rotation, np.zeros((3, 1))]))
        box = turned.bounding_box()
        step = max(float(box[5] - box[2]) / PLANES, 1e-3)
        rings = [ring for outline in cut(turned, step).outlines for ring in outline.to_polygons()]
        found += _grouped([r for r in map(_round_hole, rings) if r is not None], rotation, axis, name, step)
    return found


def _round_hole(ring: Floats) -> tuple[float, float, float] | None:
    """Centre and diameter of a ring that runs clockwise and is round."""
    x, y = ring.T
    u, v = np.roll(x, -1), np.roll(y, -1)
    area = float((x * v - u * y).sum() / 2)
    length = float(np.hypot(u - x, v - y).sum())
    if area >= 0 or len(ring) < LEAST_CORNERS or 4 * np.pi * -area / length**2 < ROUNDNESS:
        return None
    return float(x.mean()), float(y.mean()), 2 * float(np.sqrt(-area / np.pi))


def _grouped(
    rings: list[tuple[float, float, float]], rotation: Floats, axis: int, name: str, step: float
) -> list[Hole]:
    """Rings of equal place and diameter are one hole; a single cut is none."""
    keys: dict[tuple[float, float, float], int] = {}
    for x, y, diameter in rings:
        key = (round(x, 1), round(y, 1), round(diameter, 1))
        keys[key] = keys.get(key, 0) + 1
    across = [k for k in range(3) if k != axis]
    holes = []
    for (x, y, diameter), planes in keys.items():
        if planes >= LEAST_PLANES:
            point = rotation.T @ np.array([x, y, 0.0])
            centre = (round(float(point[across[0]]), 2), round(float(point[across[1]]), 2))
            holes.append(Hole(name, centre, diameter, planes * step))
    return holes
