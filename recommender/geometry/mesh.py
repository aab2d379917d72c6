"""A triangle mesh as arrays: welding, areas, volumes, bodies, and its form as a solid of manifold3d."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import manifold3d
import numpy as np
import numpy.typing as npt

from recommender.errors import ModelFileError

Floats = npt.NDArray[np.float64]
Floats32 = npt.NDArray[np.float32]
Indices = npt.NDArray[np.int32]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Mesh:
    """A triangle mesh.

    Attributes
    ----------
    vertices : ndarray of shape (n, 3)
        Corner points in mm.
    triangles : ndarray of shape (m, 3)
        Indices into `vertices`, counter-clockwise seen from outside.
    name : str
        What to call the model in a report.
    """

    vertices: Floats
    triangles: Indices
    name: str = field(default="model")

    def __post_init__(self) -> None:
        if not len(self.triangles):
            raise ModelFileError(self.name, "the model has no triangles.", "Export it again as a solid.")
        if not np.isfinite(self.vertices).all():
            raise ModelFileError(self.name, "a coordinate is not a finite number.", "Export it again.")

    @cached_property
    def bounds(self) -> Floats:
        """Lowest and highest corner of the bounding box, shape (2, 3), in mm."""
        return np.array([self.vertices.min(axis=0), self.vertices.max(axis=0)])

    @property
    def extents(self) -> Floats:
        """Size of the bounding box along x, y, z, in mm."""
        return np.asarray(self.bounds[1] - self.bounds[0])

    @cached_property
    def closed(self) -> bool:
        """Whether every edge is run once in each direction."""
        return is_closed(self.triangles)

    @cached_property
    def area_vectors(self) -> Floats:
        """Outward normal of each triangle times its area, shape (m, 3), in mm^2."""
        first, second, third = (self.vertices[self.triangles[:, k]] for k in range(3))
        return np.asarray(0.5 * np.cross(second - first, third - first))

    @cached_property
    def areas(self) -> Floats:
        """Area of each triangle in mm^2."""
        return np.asarray(np.linalg.norm(self.area_vectors, axis=1))

    @property
    def surface_area(self) -> float:
        """Sum of the triangle areas in mm^2."""
        return float(self.areas.sum())

    @cached_property
    def triangle_volumes(self) -> Floats:
        """Signed volume under each triangle towards the middle of the bounding box, in mm^3.

        Their sum is the volume of a closed mesh (divergence theorem).
        """
        centre = self.bounds.mean(axis=0)
        towards = self.vertices[self.triangles[:, 0]] - centre
        return np.asarray(np.einsum("ij,ij->i", towards, self.area_vectors) / 3.0)

    @property
    def volume(self) -> float:
        """Signed volume in mm^3; negative when the mesh is inside out."""
        return float(self.triangle_volumes.sum())

    @cached_property
    def centre_of_mass(self) -> Floats:
        """Centre of mass in mm of the evenly filled mesh; of its surface where it encloses nothing."""
        corners = self.vertices[self.triangles]
        centre = self.bounds.mean(axis=0)
        total = self.triangle_volumes.sum()
        if abs(total) < 1e-9 * max(float(np.prod(self.extents)), 1e-30):
            middle: Floats = np.average(corners.mean(axis=1), axis=0, weights=self.areas + 1e-30)
            return middle
        tetrahedra = (corners.sum(axis=1) + centre) / 4.0
        weighted: Floats = (tetrahedra * self.triangle_volumes[:, None]).sum(axis=0) / total
        return weighted

    @cached_property
    def body_of_triangle(self) -> Integers:
        """Number of the connected body of each triangle, from 0."""
        from scipy.sparse import coo_matrix
        from scipy.sparse.csgraph import connected_components

        n = len(self.vertices)
        start = self.triangles[:, [0, 1]].ravel()
        end = self.triangles[:, [1, 2]].ravel()
        graph = coo_matrix((np.ones(len(start), dtype=np.int8), (start, end)), shape=(n, n))
        labels = connected_components(graph, directed=False)[1][self.triangles[:, 0]]
        return np.unique(labels, return_inverse=True)[1].astype(np.int64)

    def scaled(self, factors: float | npt.ArrayLike, about: npt.ArrayLike = (0.0, 0.0, 0.0)) -> Mesh:
        """The mesh scaled by one factor, or by one per axis, about a point."""
        origin = np.asarray(about, dtype=np.float64)
        return Mesh((self.vertices - origin) * np.asarray(factors) + origin, self.triangles, self.name)

    def rotated(self, rotation: Floats) -> Mesh:
        """The mesh turned by a 3 x 3 rotation matrix (``rotation @ point``)."""
        return Mesh(self.vertices @ rotation.T, self.triangles, self.name)

    def part(self, chosen: npt.NDArray[np.bool_]) -> Mesh:
        """The triangles where `chosen` is true, with only the vertices that they use."""
        used, triangles = np.unique(self.triangles[chosen], return_inverse=True)
        return Mesh(self.vertices[used], triangles.reshape(-1, 3).astype(np.int32), self.name)


def from_solid(solid: manifold3d.Manifold, name: str = "model") -> Mesh:
    """A mesh from a solid of manifold3d."""
    mesh = solid.to_mesh64()
    vertices = np.array(mesh.vert_properties, dtype=np.float64)[:, :3]
    return Mesh(np.ascontiguousarray(vertices), np.array(mesh.tri_verts).astype(np.int32), name)


def _hashes(points: npt.NDArray[np.float32] | Floats) -> npt.NDArray[np.uint64]:
    """One 64-bit number per point; equal points get equal numbers."""
    bits = np.ascontiguousarray(points + points.dtype.type(0)).view(  # -0.0 becomes 0.0
        np.uint32 if points.dtype == np.float32 else np.uint64
    )
    hashed = bits[:, 0].astype(np.uint64)
    for column in (1, 2):
        hashed *= np.uint64(0x9E3779B97F4A7C15)
        hashed ^= hashed >> np.uint64(29)
        hashed += bits[:, column].astype(np.uint64)
    hashed *= np.uint64(0xBF58476D1CE4E5B9)
    return hashed


def weld(points: npt.NDArray[np.float32] | Floats) -> tuple[Floats, Indices]:
    """Join points with exactly equal coordinates.

    Parameters
    ----------
    points : ndarray of shape (k, 3)
        Single or double precision; three rows make one triangle.

    Returns
    -------
    vertices : ndarray of shape (n, 3)
    index : ndarray of shape (k,)
        Row of `vertices` for each point.
    """
    hashed = _hashes(points)
    order = np.argsort(hashed)
    in_order = hashed[order]
    new = np.empty(len(points), dtype=bool)
    new[:1] = True
    np.not_equal(in_order[1:], in_order[:-1], out=new[1:])
    index = np.empty(len(points), dtype=np.int32)
    index[order] = np.cumsum(new, dtype=np.int32) - 1
    vertices = points[order[new]]
    if not np.array_equal(vertices[index], points):  # two different points share a hash
        vertices, inverse = np.unique(points + points.dtype.type(0), axis=0, return_inverse=True)
        index = inverse.ravel().astype(np.int32)
    return vertices.astype(np.float64) + 0.0, index


def weld_within(mesh: Mesh, tolerance: float) -> Mesh:
    """Join vertices closer than `tolerance` mm, and drop the triangles that collapse."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    pairs = cKDTree(mesh.vertices).query_pairs(tolerance, output_type="ndarray")
    n = len(mesh.vertices)
    graph = coo_matrix((np.ones(len(pairs), dtype=np.int8), (pairs[:, 0], pairs[:, 1])), shape=(n, n))
    labels = connected_components(graph, directed=False)[1]
    first = np.unique(labels, return_index=True)[1]
    return without_collapsed(mesh.vertices[first], labels[mesh.triangles].astype(np.int32), mesh.name)


def without_collapsed(vertices: Floats, triangles: Indices, name: str) -> Mesh:
    """A mesh without the triangles that use one vertex twice."""
    return Mesh(vertices, triangles[~collapsed(triangles)], name)


def collapsed(triangles: Indices) -> npt.NDArray[np.bool_]:
    """Which triangles use one vertex twice."""
    first, second, third = triangles.T
    return np.asarray((first == second) | (second == third) | (third == first))


def _directed_edges(triangles: Indices) -> tuple[Integers, Integers]:
    """Edges of the triangles as numbers start * n + end, and the same edges run backwards."""
    n = np.int64(triangles.max()) + 1
    start = triangles.astype(np.int64)
    end = np.roll(start, -1, axis=1)
    return (start * n + end).ravel(), (end * n + start).ravel()


def is_closed(triangles: Indices) -> bool:
    """Whether every edge is run once in each direction: closed, oriented, two triangles to an edge."""
    forward, backward = _directed_edges(triangles)
    forward.sort()
    if (forward[1:] == forward[:-1]).any():
        return False
    backward.sort()
    return np.array_equal(forward, backward)


def open_edge_count(triangles: Indices) -> int:
    """Number of edges with one triangle only."""
    forward, backward = _directed_edges(triangles)
    counts = np.unique(np.minimum(forward, backward), return_counts=True)[1]
    return int((counts == 1).sum())
