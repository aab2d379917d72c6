"""Is the mesh the skin of a solid? Holes, flipped, repeated facets; inside-out, overlapping, nested bodies.

What manifold3d calls valid may still be inside out, or count a volume twice where shells overlap: both are
looked for here on their own.
"""

from __future__ import annotations

from collections.abc import Iterator

import manifold3d
import numpy as np

from recommender.geometry.edges import Bools, EdgeFaults, edge_faults, hole_loops
from recommender.geometry.findings import Finding, Severity
from recommender.geometry.mesh import Floats, Mesh
from recommender.geometry.solid import as_solid

BODIES_COMPARED = 60
VOLUME_SHARE = 1e-6  # of the smaller body: less overlap than this is rounding
FLAT_SHARE = 1e-9  # of the bounding box: less volume than this is a sheet


def check_soundness(mesh: Mesh) -> list[Finding]:
    """Everything that keeps the mesh from being the skin of one solid."""
    if has_no_volume(mesh):
        return [_no_volume(mesh)]
    if mesh.closed:
        return [*_closed_findings(mesh)]
    return [*_edge_findings(mesh, edge_faults(mesh))]


def has_no_volume(mesh: Mesh) -> bool:
    """Whether the mesh encloses nothing worth mentioning."""
    return abs(mesh.volume) <= FLAT_SHARE * float(np.prod(np.maximum(mesh.extents, 1e-9)))


def _no_volume(mesh: Mesh) -> Finding:
    return Finding(
        "mesh.no_volume",
        Severity.PROBLEM,
        "The model encloses no volume.",
        f"Its surface is {mesh.surface_area:.4g} mm², its volume {mesh.volume:.2g} mm³.",
        "Give the sheet a thickness in the drawing.",
    )


def is_solid(mesh: Mesh) -> bool:
    """Whether the mesh is closed, oriented and right side out on the whole."""
    return mesh.closed and mesh.volume > 0


# Meshes that are not closed


def _edge_findings(mesh: Mesh, faults: EdgeFaults) -> Iterator[Finding]:
    if faults.repeated.any():
        yield Finding(
            "mesh.repeated_facets",
            Severity.PROBLEM,
            f"{int(faults.repeated.sum()):,} facets are there twice.",
            "A skin has each facet once; printing programs may read the double ones as a gap or a wall.",
            "Remove them (--repair does) or export again.",
            _place(mesh, faults.repeated),
        )
    if faults.opposed.any():
        yield Finding(
            "mesh.shared_walls",
            Severity.CAUTION if as_solid(mesh) is not None else Severity.PROBLEM,
            f"{int(faults.opposed.sum()) // 2:,} pairs of facets lie face to face.",
            "Two bodies share a wall; a printing program may print it as two walls or none.",
            "Join the bodies (--repaired FILE writes them joined) or move them apart in the drawing.",
            _place(mesh, faults.opposed),
        )
    if len(faults.open_edges):
        yield _hole_finding(mesh, faults)
    if faults.flipped.any():
        yield Finding(
            "mesh.flipped_facets",
            Severity.PROBLEM,
            f"{int(faults.flipped.sum()):,} facets face the wrong way.",
            "Their order of corners disagrees with their neighbours: inside and outside are swapped there.",
            "Turn them round (--repair does) or export again.",
            _place(mesh, faults.flipped),
        )
    if faults.crowded_edges:
        touching = as_solid(mesh) is not None
        yield Finding(
            "mesh.crowded_edges",
            Severity.CAUTION if touching else Severity.PROBLEM,
            f"{faults.crowded_edges:,} edges are shared by more than two facets.",
            "Bodies touch along an edge."
            if touching
            else "Sheets or bodies meet there, and which side is inside is not settled.",
            "Join the bodies or move them apart in the drawing, and export again.",
        )
    if faults.unorientable:
        yield Finding(
            "mesh.one_sided",
            Severity.PROBLEM,
            "The surface has only one side.",
            "No turning of facets makes all neighbours agree.",
            "Rebuild the body as a solid.",
        )
    if mesh.volume < 0 and not faults.flipped.any() and not len(faults.open_edges):
        yield _inside_out(mesh, "The model", mesh.volume)


def _hole_finding(mesh: Mesh, faults: EdgeFaults) -> Finding:
    loops = hole_loops(faults.open_edges)
    ends = mesh.vertices[faults.open_edges]
    length = float(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum())
    said = f" around {len(loops):,} hole{'s' if len(loops) != 1 else ''}" if loops else ""
    return Finding(
        "mesh.open_edges",
        Severity.PROBLEM,
        f"The skin has holes: {len(faults.open_edges):,} open edges{said}.",
        f"Their length is {length:.3g} mm in all; a model must be closed to have an inside.",
        "Close the holes in the drawing, or let --repair close the flat ones.",
        _point(ends[0].mean(axis=0)),
    )


# Closed meshes


def body_volumes(mesh: Mesh) -> Floats:
    """Signed volume of each connected body in mm^3."""
    return np.bincount(mesh.body_of_triangle, weights=mesh.triangle_volumes).astype(np.float64)


def _closed_findings(mesh: Mesh) -> Iterator[Finding]:
    volumes = body_volumes(mesh)
    n_bodies = len(volumes)
    if n_bodies == 1:
        if volumes[0] < 0:
            yield _inside_out(mesh, "The model", float(volumes[0]))
        return
    yield from _several_bodies(mesh, volumes)


def _several_bodies(mesh: Mesh, volumes: Floats) -> Iterator[Finding]:
    outer = int((volumes > 0).sum())
    if outer > 1:
        yield Finding(
            "mesh.several_bodies",
            Severity.NOTE,
            f"The model is {outer:,} separate bodies.",
            "They are " + ", ".join(f"{v:.4g}" for v in sorted(volumes[volumes > 0])[::-1][:6]) + " mm³.",
            "Fine if they are meant to be separate; otherwise join them in the drawing.",
        )
    if len(volumes) > BODIES_COMPARED:
        yield Finding(
            "mesh.bodies_not_compared",
            Severity.CAUTION,
            f"{len(volumes):,} bodies are too many to compare each with each.",
            f"Overlaps are looked for among at most {BODIES_COMPARED}; the layers show them all the same.",
        )
        return
    bodies = [mesh.part(mesh.body_of_triangle == k) for k in range(len(volumes))]
    yield from _inverted_bodies(bodies, volumes)
    yield from _meeting_bodies(bodies, volumes)


def _inverted_bodies(bodies: list[Mesh], volumes: Floats) -> Iterator[Finding]:
    """An inward facing shell is a cavity inside another body, and otherwise inside out."""
    for k in map(int, np.flatnonzero(volumes < 0)):
        if _is_cavity(k, bodies, volumes):
            yield Finding(
                "mesh.closed_cavity",
                Severity.NOTE,
                f"There is a closed cavity of {-volumes[k]:.4g} mm³ inside the model.",
                "A shell facing inwards lies wholly inside a body.",
                "Mind that support or liquid inside cannot come out; give it a drain if that matters.",
                _point(bodies[k].bounds.mean(axis=0)),
            )
        else:
            yield _inside_out(bodies[k], "A body", float(volumes[k]))


def _is_cavity(k: int, bodies: list[Mesh], volumes: Floats) -> bool:
    return any(
        volume > -volumes[k] and _contains_box(body, bodies[k]) and _inside(bodies[k], body)
        for body, volume in zip(bodies, volumes, strict=True)
    )


def inside_out_bodies(mesh: Mesh) -> list[int]:
    """Numbers of the closed bodies that face inwards and are no cavity of another."""
    volumes = body_volumes(mesh)
    n_bodies = len(volumes)
    if n_bodies > BODIES_COMPARED:
        return []
    bodies = [mesh.part(mesh.body_of_triangle == k) for k in range(n_bodies)]
    return [int(k) for k in np.flatnonzero(volumes < 0) if not _is_cavity(int(k), bodies, volumes)]


def _meeting_bodies(bodies: list[Mesh], volumes: Floats) -> Iterator[Finding]:
    outer = np.flatnonzero(volumes > 0)
    solids = {int(k): as_solid(bodies[k]) for k in outer}
    for position, first in enumerate(outer):
        for second in outer[position + 1 :]:
            one, other = solids[int(first)], solids[int(second)]
            if one is None or other is None or not _boxes_meet(bodies[first], bodies[second]):
                continue
            common = (one ^ other).volume()
            smaller = min(volumes[first], volumes[second])
            if common > VOLUME_SHARE * smaller:
                yield _meeting(bodies[first], bodies[second], common, smaller)


def _meeting(first: Mesh, second: Mesh, common: float, smaller: float) -> Finding:
    nested = common > (1 - 1e-4) * smaller
    low = np.maximum(first.bounds[0], second.bounds[0])
    high = np.minimum(first.bounds[1], second.bounds[1])
    return Finding(
        "mesh.nested_bodies" if nested else "mesh.overlapping_bodies",
        Severity.PROBLEM,
        "One body lies inside another." if nested else "Two bodies overlap.",
        f"They share {common:.4g} mm³, which the plain volume counts twice; printing programs differ in "
        "whether they fill or hollow it.",
        "Join them in the drawing (or --repair); make the inner one face inwards if it was to be a cavity.",
        _point((low + high) / 2),
    )


def _contains_box(outer: Mesh, inner: Mesh) -> bool:
    return bool((outer.bounds[0] < inner.bounds[0]).all() and (inner.bounds[1] < outer.bounds[1]).all())


def _boxes_meet(first: Mesh, second: Mesh) -> bool:
    return bool((first.bounds[0] < second.bounds[1]).all() and (second.bounds[0] < first.bounds[1]).all())


def _inside(inner: Mesh, host: Mesh) -> bool:
    """Whether an inward facing shell lies wholly inside a body."""
    turned = Mesh(inner.vertices, np.ascontiguousarray(inner.triangles[:, ::-1]), inner.name)
    shell, solid = as_solid(turned), as_solid(host)
    if shell is None or solid is None:
        return False
    outside: manifold3d.Manifold = shell - solid
    return bool(outside.volume() <= VOLUME_SHARE * shell.volume())


def _inside_out(mesh: Mesh, what: str, volume: float) -> Finding:
    return Finding(
        "mesh.inside_out",
        Severity.PROBLEM,
        f"{what} is inside out.",
        f"Every facet faces inwards: the signed volume is {volume:.4g} mm³.",
        "Turn the facets round (--repair does) or export again.",
        _point(mesh.bounds.mean(axis=0)),
    )


def _place(mesh: Mesh, chosen: Bools) -> tuple[float, float, float]:
    return _point(mesh.vertices[mesh.triangles[int(np.argmax(chosen))]].mean(axis=0))


def _point(point: Floats) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in point)
    return x, y, z
