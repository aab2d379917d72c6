"""How should the part lie? Many build orientations at once: support, height, contact, tipping, load.

Every orientation is a direction of the model that points up in the machine. One matrix product of all facet
normals with all directions gives the overhangs; the few best are then looked at layer by layer, where support
may also stand on the part itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from recommender.errors import InputError
from recommender.geometry.mesh import Floats, Floats32, Integers, Mesh

OVERHANG_LIMIT_DEG = 45.0  # from the vertical; Mazlan et al., J. Adv. Ind. Technol. Appl. 2020: <= 45 deg
ON_BED_MM = 0.1
FLAT_FACES = 40
LEAST_COUNT = 200
ROWS_AT_ONCE = 8_192
SAME_DIRECTION = np.cos(np.radians(2.0))


@dataclass(frozen=True)
class Orientations:
    """Figures of many orientations, one row each.

    Attributes
    ----------
    directions : ndarray of shape (k, 3)
        Unit vectors of the model that point up.
    height : ndarray of shape (k,)
        Height of the part, mm.
    overhang_area : ndarray of shape (k,)
        Area of facets that lean out further than the limit and do not lie on the bed, mm^2.
    support_volume : ndarray of shape (k,)
        Volume of the columns below them down to the bed, mm^3: too much where the part itself lies between.
    contact_area : ndarray of shape (k,)
        Area on the bed, mm^2.
    """

    directions: Floats
    height: Floats
    overhang_area: Floats
    support_volume: Floats
    contact_area: Floats

    def __len__(self) -> int:
        return len(self.directions)


def directions_to_try(mesh: Mesh, count: int = 240) -> Floats:
    """Directions that may point up: the axes, those that lay a large flat face on the bed, and a spread.

    Parameters
    ----------
    count : int
        How many in all, at least `LEAST_COUNT`.

    Returns
    -------
    ndarray of shape (count, 3)
        Unit vectors, the axes first; the spread is a Fibonacci lattice on the sphere.
    """
    if count < LEAST_COUNT:
        raise InputError("--orientations", f"{count} is too few.", f"Use at least {LEAST_COUNT}.")
    axes = np.concatenate([np.eye(3), -np.eye(3)])[[2, 5, 0, 3, 1, 4]]
    chosen = list(axes)
    for normal in _large_flat_normals(mesh):
        if all(float(normal @ other) < SAME_DIRECTION for other in chosen):
            chosen.append(normal)
    return np.array([*chosen, *_fibonacci_sphere(count - len(chosen))])


def _large_flat_normals(mesh: Mesh) -> Floats:
    """Up directions that put the largest flat faces down, largest first."""
    areas = np.maximum(mesh.areas, 1e-30)
    normals = mesh.area_vectors / areas[:, None]
    rounded = np.round(normals * 500).astype(np.int64)
    key = (rounded[:, 0] * 4001 + rounded[:, 1]) * 4001 + rounded[:, 2]
    first, group = np.unique(key, return_index=True, return_inverse=True)[1:]
    total = np.bincount(group, weights=mesh.areas)
    largest = np.argsort(-total, kind="stable")[:FLAT_FACES]
    return np.asarray(-normals[first[largest]])


def _fibonacci_sphere(count: int) -> Floats:
    k = np.arange(max(count, 0)) + 0.5
    z = 1 - 2 * k / max(count, 1)
    turn = np.pi * (1 + 5**0.5) * k
    radius = np.sqrt(1 - z**2)
    return np.stack([radius * np.cos(turn), radius * np.sin(turn), z], axis=1)


def evaluate(mesh: Mesh, directions: Floats, limit_deg: float = OVERHANG_LIMIT_DEG) -> Orientations:
    """Height, overhangs, support and contact of each direction.

    Parameters
    ----------
    limit_deg : float
        How far a surface may lean out of the vertical without support, in degrees.
    """
    ups = directions.T.astype(np.float32)
    centre = mesh.bounds.mean(axis=0)
    lowest, highest = _reach(mesh, ups, centre)
    sums = np.zeros((3, len(directions)))
    for rows in _blocks(len(mesh.triangles)):
        _add_block(sums, mesh, rows, centre, ups, lowest, limit_deg)
    return Orientations(
        np.asarray(directions, dtype=np.float64),
        (highest - lowest).astype(np.float64),
        *(row for row in sums),
    )


def _blocks(n: int) -> list[slice]:
    return [slice(start, start + ROWS_AT_ONCE) for start in range(0, n, ROWS_AT_ONCE)]


def _reach(mesh: Mesh, ups: Floats32, centre: Floats) -> tuple[Floats32, Floats32]:
    """Lowest and highest point along each direction, from the middle of the box."""
    points = (mesh.vertices - centre).astype(np.float32)
    lowest = np.full(ups.shape[1], np.inf, dtype=np.float32)
    highest = -lowest
    for rows in _blocks(len(points)):
        along = points[rows] @ ups
        np.minimum(lowest, along.min(axis=0), out=lowest)
        np.maximum(highest, along.max(axis=0), out=highest)
    return lowest, highest


def _add_block(
    sums: Floats,
    mesh: Mesh,
    rows: slice,
    centre: Floats,
    ups: Floats32,
    lowest: Floats32,
    limit_deg: float,
) -> None:
    """Add overhang area, support volume and contact area of some facets."""
    areas = mesh.areas[rows].astype(np.float32)[:, None]
    corners = mesh.vertices[mesh.triangles[rows]]
    down = -(mesh.area_vectors[rows].astype(np.float32) @ ups)  # area as seen from below
    above_bed = (corners.mean(axis=1) - centre).astype(np.float32) @ ups - lowest
    facing_down = down > areas * np.float32(np.sin(np.radians(limit_deg)))
    on_bed = above_bed < ON_BED_MM
    hanging = facing_down & ~on_bed
    sums[0] += np.einsum("ij,ij->j", hanging, np.broadcast_to(areas, hanging.shape))
    down *= facing_down
    sums[2] += np.einsum("ij,ij->j", down, on_bed)
    down *= ~on_bed
    sums[1] += np.einsum("ij,ij->j", down, above_bed)


def rotation_to_up(direction: npt.ArrayLike) -> Floats:
    """The rotation matrix that turns a direction of the model upwards (to +z), by the shortest way."""
    up = np.asarray(direction, dtype=np.float64)
    up = up / np.linalg.norm(up)
    if up[2] < -1 + 1e-12:
        return np.diag([1.0, -1.0, -1.0])
    axis = np.cross(up, [0.0, 0.0, 1.0])
    skew = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    return np.asarray(np.eye(3) + skew + skew @ skew / (1 + up[2]))


def first_best(score: Floats, directions: Floats, count: int, apart_deg: float = 20.0) -> Integers:
    """The best rows by score (small is good) that differ from each other by some degrees."""
    chosen: list[int] = []
    for k in np.argsort(score, kind="stable"):
        if all(float(directions[k] @ directions[j]) < np.cos(np.radians(apart_deg)) for j in chosen):
            chosen.append(int(k))
        if len(chosen) == count:
            break
    return np.array(chosen, dtype=np.int64)
