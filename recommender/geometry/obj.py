"""Read the geometry of an OBJ file: vertices and faces; everything else is passed over."""

from __future__ import annotations

from typing import BinaryIO

import manifold3d
import numpy as np

from recommender.errors import ModelFileError
from recommender.geometry.mesh import Floats, Mesh
from recommender.geometry.reading import (
    TRIANGLE_LIMIT,
    ModelFile,
    joined_within_tolerance,
    refuse_impossible,
    without_collapsed_said,
)

LONGEST_LINE = 100_000


def read_obj(file: BinaryIO, name: str) -> ModelFile:
    """Read an OBJ file into one mesh; polygons are cut into triangles.

    Raises
    ------
    ModelFileError
        A line is not a vertex or face, or points at a vertex that does not exist.
    """
    coordinates: list[tuple[float, float, float]] = []
    faces: list[list[int]] = []
    line_number = 0
    while line := file.readline(LONGEST_LINE):
        line_number += 1
        words = line.split()
        if not words or words[0] not in (b"v", b"f"):
            continue
        try:
            if words[0] == b"v":
                x, y, z = words[1:4]
                coordinates.append((float(x), float(y), float(z)))
            else:
                faces.append(_face(words[1:], len(coordinates)))
        except (ValueError, IndexError) as error:
            raise ModelFileError(
                name, f"line {line_number:,} is no vertex or face of an OBJ file.", "Export it again."
            ) from error
        if max(len(coordinates), len(faces)) > TRIANGLE_LIMIT:
            raise ModelFileError(name, f"more than {TRIANGLE_LIMIT:,} faces.", "Export it coarser.")
    return _model(coordinates, faces, name)


def _face(words: list[bytes], vertices_so_far: int) -> list[int]:
    """Vertex rows of a face; a negative index counts back from the latest vertex."""
    indices = [int(word.partition(b"/")[0]) for word in words]
    rows = [index - 1 if index > 0 else vertices_so_far + index for index in indices]
    if len(rows) < 3 or min(rows) < 0 or 0 in indices:
        raise IndexError
    return rows


def _model(coordinates: list[tuple[float, float, float]], faces: list[list[int]], name: str) -> ModelFile:
    if not coordinates or not faces:
        raise ModelFileError(name, "the OBJ file holds no faces.", "Export the model as a solid mesh.")
    vertices = np.array(coordinates, dtype=np.float64)
    refuse_impossible(vertices, name)
    if max(map(max, faces)) >= len(vertices):
        raise ModelFileError(name, "a face points at a vertex that does not exist.", "Export it again.")
    triangles = [triangle for face in faces for triangle in _triangles_of(face, vertices)]
    if len(triangles) > TRIANGLE_LIMIT:
        raise ModelFileError(name, f"more than {TRIANGLE_LIMIT:,} triangles.", "Export it coarser.")
    exact, index = np.unique(vertices, axis=0, return_inverse=True)
    welded = index.ravel()[np.array(triangles)].astype(np.int32)
    mesh, remarks = without_collapsed_said(exact + 0.0, welded, name)
    used, packed = np.unique(mesh.triangles, return_inverse=True)
    mesh = Mesh(mesh.vertices[used], packed.reshape(-1, 3).astype(np.int32), name)
    mesh, remarks = joined_within_tolerance(mesh, remarks)
    return ModelFile(mesh, "OBJ", "mm", False, remarks)


def _triangles_of(face: list[int], vertices: Floats) -> list[tuple[int, int, int]]:
    fan = [(face[0], face[k], face[k + 1]) for k in range(1, len(face) - 1)]
    if len(face) == 3:
        return fan
    corners = vertices[face]
    normal = np.cross(corners, np.roll(corners, -1, axis=0)).sum(axis=0)
    if all(_turns_with(vertices[list(triangle)], normal) for triangle in fan):
        return fan
    return _cut_concave(face, corners, normal)


def _turns_with(corners: Floats, normal: Floats) -> bool:
    return bool(np.cross(corners[1] - corners[0], corners[2] - corners[0]) @ normal >= 0)


def _cut_concave(face: list[int], corners: Floats, normal: Floats) -> list[tuple[int, int, int]]:
    """Triangulate a concave polygon in its plane, seen against its normal."""
    length = float(np.linalg.norm(normal))
    if length == 0:
        return []
    across = np.eye(3)[int(np.argmin(np.abs(normal)))]
    first = np.cross(across, normal)
    plane = np.array(
        [first / np.linalg.norm(first), np.cross(normal / length, first / np.linalg.norm(first))]
    )
    cut = manifold3d.triangulate([np.ascontiguousarray(corners @ plane.T)])
    return [(face[a], face[b], face[c]) for a, b, c in np.asarray(cut)]
