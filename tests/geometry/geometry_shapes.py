"""Shapes with known sizes for the geometry tests."""

from __future__ import annotations

import manifold3d
import numpy as np

from recommender.geometry.mesh import Mesh, from_solid


def box(x: float, y: float, z: float, at: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Mesh:
    return from_solid(manifold3d.Manifold.cube((x, y, z)).translate(at), "box")


def box_solid(x: float, y: float, z: float, at: tuple[float, float, float] = (0.0, 0.0, 0.0)):
    return manifold3d.Manifold.cube((x, y, z)).translate(at)


def cylinder(height: float, radius: float, segments: int = 256) -> Mesh:
    return from_solid(manifold3d.Manifold.cylinder(height, radius, radius, segments), "cylinder")


def together(*meshes: Mesh) -> Mesh:
    """Meshes in one, not joined."""
    offsets = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes)])
    triangles = [mesh.triangles + offset for mesh, offset in zip(meshes, offsets[:-1], strict=True)]
    return Mesh(np.concatenate([m.vertices for m in meshes]), np.concatenate(triangles).astype(np.int32))


def turned(mesh: Mesh) -> Mesh:
    """The same mesh inside out."""
    return Mesh(mesh.vertices, np.ascontiguousarray(mesh.triangles[:, ::-1]))


MODELS = ("datasets", "models")
