"""Edges of a mesh that are not run once in each direction: holes, flipped facets, edges of many facets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from recommender.geometry.mesh import Floats, Indices, Integers, Mesh

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class EdgeFaults:
    """What is wrong with the edges of a mesh.

    Attributes
    ----------
    open_edges : ndarray of shape (k, 2)
        Vertices of the edges with one triangle, in the direction of that triangle.
    crowded_edges : int
        Edges shared by more than two triangles.
    flipped : ndarray of bool, one per triangle
        Triangles that must be turned round to agree with their larger neighbourhood.
    repeated : ndarray of bool, one per triangle
        Triangles that repeat an earlier one.
    opposed : ndarray of bool, one per triangle
        Triangles that lie face to face with another: the shared wall of two bodies.
    unorientable : bool
        Whether no turning of triangles makes neighbours agree.
    """

    open_edges: Integers
    crowded_edges: int
    flipped: Bools
    repeated: Bools
    opposed: Bools
    unorientable: bool


def edge_faults(mesh: Mesh) -> EdgeFaults:
    """Look at every edge of a mesh; use `is_closed` first, which is quicker for a sound mesh."""
    repeated, opposed = coincident(mesh.triangles)
    kept = np.flatnonzero(~(repeated | opposed))
    triangles = mesh.triangles[kept].astype(np.int64)
    n = len(mesh.vertices)
    start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    key = np.minimum(start, end) * n + np.maximum(start, end)
    order = np.argsort(key, kind="stable")
    first_of, counts = np.unique(key[order], return_index=True, return_counts=True)[1:]
    open_ones = order[first_of[counts == 1]]
    pairs = order[first_of[counts == 2][:, None] + np.array([0, 1])]
    flipped_kept, unorientable = _flipped(
        pairs // 3, start[pairs[:, 0]] == start[pairs[:, 1]], mesh.areas[kept]
    )
    flipped = np.zeros(len(mesh.triangles), dtype=bool)
    flipped[kept] = flipped_kept
    return EdgeFaults(
        np.stack([start[open_ones], end[open_ones]], axis=1),
        int((counts > 2).sum()),
        flipped,
        repeated,
        opposed,
        unorientable,
    )


def coincident(triangles: Indices) -> tuple[Bools, Bools]:
    """Triangles on the same three vertices: those that repeat an earlier one, and pairs face to face."""
    in_order = np.sort(triangles, axis=1)
    group = np.unique(in_order, axis=0, return_inverse=True)[1].ravel()
    turn = np.argmin(triangles, axis=1)
    rows = np.arange(len(triangles))
    forward = triangles[rows, (turn + 1) % 3] < triangles[rows, (turn + 2) % 3]
    places = [_place_within(group, way) for way in (forward, ~forward)]
    counts = [np.bincount(group, weights=way).astype(np.int64)[group] for way in (forward, ~forward)]
    place = np.where(forward, *places)
    pairs = np.minimum(*counts)
    opposed = place < pairs
    return np.asarray(place > pairs), np.asarray(opposed)


def _place_within(group: Integers, chosen: Bools) -> Integers:
    """How many chosen members of the same group come before each member."""
    order = np.argsort(group, kind="stable")
    before: Integers = np.cumsum(chosen[order], dtype=np.int64) - chosen[order]
    first = np.concatenate([[True], group[order][1:] != group[order][:-1]])
    start = np.maximum.accumulate(np.where(first, np.arange(len(group)), 0))
    place = np.empty(len(group), dtype=np.int64)
    place[order] = before - before[start]
    return place


def _flipped(pairs: Integers, disagree: Bools, areas: Floats) -> tuple[Bools, bool]:
    """Colour patches of agreeing triangles in two colours; the smaller area of a neighbourhood is flipped."""
    from scipy.sparse.csgraph import connected_components

    if not disagree.any():
        return np.zeros(len(areas), dtype=bool), False
    n_patches, patch = connected_components(_graph(pairs[~disagree], len(areas)), directed=False)
    links = np.unique(patch[pairs[disagree]].reshape(-1, 2), axis=0).astype(np.int64)
    graph = _graph(links, n_patches)
    neighbourhood = connected_components(graph, directed=False)[1]
    colour = _two_coloured(graph, np.unique(neighbourhood, return_index=True)[1])
    area = np.bincount(patch, weights=areas, minlength=n_patches)
    turned = np.bincount(neighbourhood, weights=area * colour)
    whole = np.bincount(neighbourhood, weights=area)
    major_is_coloured = (turned > whole / 2)[neighbourhood]
    unorientable = bool((colour[links[:, 0]] == colour[links[:, 1]]).any())
    return np.asarray((colour != major_is_coloured)[patch]), unorientable


def _two_coloured(graph: csr_matrix, roots: Integers) -> Bools:
    """Alternate colours outward from one root in each connected part of a graph."""
    from scipy.sparse.csgraph import breadth_first_order

    colour = np.zeros(graph.shape[0], dtype=bool)
    for root in roots:
        visited, before = breadth_first_order(graph, root, directed=False)
        for node in visited[1:]:
            colour[node] = not colour[before[node]]
    return colour


def _graph(pairs: Integers, n: int) -> csr_matrix:
    from scipy.sparse import csr_matrix

    return csr_matrix((np.ones(len(pairs), dtype=np.int8), (pairs[:, 0], pairs[:, 1])), shape=(n, n))


def hole_loops(open_edges: Integers) -> list[Integers]:
    """Closed loops of open edges, each as its vertices in order; open chains are left out."""
    follow: dict[int, int] = {}
    for start, end in open_edges.tolist():
        if start in follow:
            return []  # loops that touch in a vertex: no safe reading
        follow[start] = end
    loops = []
    while follow:
        first, current = follow.popitem()
        loop = [first]
        while current != first and current in follow:
            loop.append(current)
            current = follow.pop(current)
        if current == first:
            loops.append(np.array(loop, dtype=np.int64))
    return loops
