"""How should the part lie? Many build orientations at once: support, height, contact, tipping, load.

Every orientation is a direction of the model that points up in the machine. One matrix product of all facet
normals with all directions gives the overhangs; the few best are then looked at layer by layer, where support
may also stand on the part itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from threadpoolctl import threadpool_limits

from recommender.errors import InputError
from recommender.geometry.mesh import Floats, Floats32, Integers, Mesh

OVERHANG_LIMIT_DEG = 45.0  # from the vertical; Mazlan et al., J. Adv. Ind. Technol. Appl. 2020: <= 45 deg
ON_BED_MM = 0.1
FLAT_FACES = 40
FLAT_SHARE = 1e-9  # of the surface: smaller facets have no sure direction
LEAST_COUNT = 200
ROWS_AT_ONCE = 2_048
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
        Volume of the columns below leaning facets down to the bed, mm^3: too much where the part lies between.
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
    faces = mesh.areas > FLAT_SHARE * mesh.surface_area
    areas = mesh.areas[faces]
    normals = mesh.area_vectors[faces] / areas[:, None]
    rounded = np.round(normals * 500).astype(np.int64)
    key = (rounded[:, 0] * 4001 + rounded[:, 1]) * 4001 + rounded[:, 2]
    first, group = np.unique(key, return_index=True, return_inverse=True)[1:]
    total = np.bincount(group, weights=areas)
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
    with threadpool_limits(
        1
    ):  # the products are small: threads of the matrix library only wait for each other
        return _evaluated(mesh, directions, np.float32(np.sin(np.radians(limit_deg))))


def _evaluated(mesh: Mesh, directions: Floats, limit: np.float32) -> Orientations:
    ups = directions.T.astype(np.float32)
    centre = mesh.bounds.mean(axis=0)
    lowest, highest = _reach(mesh, ups, centre)
    facets = _Facets(
        mesh.area_vectors.astype(np.float32),
        mesh.areas.astype(np.float32),
        _centroids(mesh, centre),
    )
    sums = np.zeros((3, len(directions)))
    for rows in _blocks(len(mesh.triangles)):
        sums += _figures_of_block(facets, rows, ups, lowest, limit)
    return Orientations(
        np.asarray(directions, dtype=np.float64),
        (highest - lowest).astype(np.float64),
        *(row for row in sums),
    )


@dataclass(frozen=True)
class _Facets:
    """Single precision copies: area vectors, areas, centroids from the middle of the box."""

    area_vectors: Floats32
    areas: Floats32
    centroids: Floats32


def _centroids(mesh: Mesh, centre: Floats) -> Floats32:
    points = (mesh.vertices - centre).astype(np.float32)
    first, second, third = (points[mesh.triangles[:, k]] for k in range(3))
    return np.asarray((first + second + third) / np.float32(3))


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


def _figures_of_block(
    facets: _Facets, rows: slice, ups: Floats32, lowest: Floats32, limit: np.float32
) -> Floats:
    """Overhang area, support volume and contact area of some facets, one column per direction."""
    areas = facets.areas[rows]
    up_area = facets.area_vectors[rows] @ ups
    above_bed = facets.centroids[rows] @ ups
    above_bed -= lowest
    hanging = (up_area < (-limit * areas)[:, None]).view(np.uint8).astype(np.float32)
    overhang = (areas @ hanging).astype(np.float64)
    lying, way = np.divmod(np.flatnonzero(above_bed < ON_BED_MM), ups.shape[1])
    on_bed = hanging[lying, way]
    overhang -= np.bincount(way, weights=areas[lying] * on_bed, minlength=ups.shape[1])
    contact = np.bincount(way, weights=-up_area[lying, way] * on_bed, minlength=ups.shape[1])
    up_area *= hanging
    support = -np.einsum("ij,ij->j", up_area, above_bed)
    return np.array([overhang, support.astype(np.float64), contact])


def rotation_to_up(direction: npt.ArrayLike) -> Floats:
    """A rotation matrix that turns a direction of the model upwards (to +z).

    By the shortest way where the direction points up already; else the part is turned over x first, which
    keeps the formula clear of its singular point.
    """
    up = np.asarray(direction, dtype=np.float64)
    up = up / np.linalg.norm(up)
    if up[2] < 0:
        over = np.diag([1.0, -1.0, -1.0])
        return np.asarray(rotation_to_up(over @ up) @ over)
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
