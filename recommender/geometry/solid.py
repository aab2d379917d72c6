"""From a mesh to a solid of manifold3d, only where the mesh is fit for it.

The library must not be given a mesh whose edges do not pair up: it may crash the whole program. So the edges
are checked here first, and bodies that only touch along an edge are taken apart.
"""

from __future__ import annotations

import manifold3d
import numpy as np

from recommender.geometry.edges import coincident
from recommender.geometry.mesh import Mesh, from_solid


def as_solid(mesh: Mesh) -> manifold3d.Manifold | None:
    """The mesh as a solid, or None when it is not closed and oriented."""
    fit = mesh if mesh.closed else taken_apart(mesh)
    if fit is None:
        return None
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(
            np.ascontiguousarray(fit.vertices), np.ascontiguousarray(fit.triangles, dtype=np.uint64)
        )
    )
    return solid if solid.status() == manifold3d.Error.NoError else None


def taken_apart(mesh: Mesh) -> Mesh | None:
    """The mesh with own vertices for each body that touches others along edges; None if that closes nothing.

    A body is what hangs together over edges of exactly two triangles; a wall that two bodies share face to
    face is left out, which makes them one.
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    opposed = coincident(mesh.triangles)[1]
    if opposed.all():
        return None
    triangles = mesh.triangles[~opposed].astype(np.int64)
    start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    key = np.minimum(start, end) * len(mesh.vertices) + np.maximum(start, end)
    order = np.argsort(key, kind="stable")
    first, counts = np.unique(key[order], return_index=True, return_counts=True)[1:]
    if (counts < 2).any() or (counts % 2).any():
        return None
    pairs = order[first[counts == 2][:, None] + np.array([0, 1])] // 3
    n = len(triangles)
    graph = coo_matrix((np.ones(len(pairs), dtype=np.int8), (pairs[:, 0], pairs[:, 1])), shape=(n, n))
    body = connected_components(graph, directed=False)[1].astype(np.int64)
    own = body[:, None] * len(mesh.vertices) + triangles
    used, packed = np.unique(own, return_inverse=True)
    apart = Mesh(mesh.vertices[used % len(mesh.vertices)], packed.reshape(-1, 3).astype(np.int32), mesh.name)
    return apart if apart.closed else None


def united(solid: manifold3d.Manifold) -> manifold3d.Manifold:
    """The solid with overlapping and nested bodies joined, and its cavities kept."""
    bodies = solid.decompose()
    if len(bodies) == 1:
        return solid
    outer = [body for body in bodies if body.volume() > 0]
    joined = manifold3d.Manifold.batch_boolean(outer, manifold3d.OpType.Add)
    for shell in (body for body in bodies if body.volume() <= 0):
        mesh = from_solid(shell)
        cavity = as_solid(Mesh(mesh.vertices, np.ascontiguousarray(mesh.triangles[:, ::-1])))
        joined = joined if cavity is None else joined - cavity
    return joined
