"""Repair of a mesh, only when told to, only where it is safe; every step is reported with its effect."""

from __future__ import annotations

import manifold3d
import numpy as np

from recommender.geometry.edges import coincident, edge_faults, hole_loops
from recommender.geometry.findings import Finding, Severity
from recommender.geometry.mesh import Floats, Integers, Mesh, from_solid
from recommender.geometry.solid import as_solid, united
from recommender.geometry.soundness import check_soundness, has_no_volume, inside_out_bodies

FLATNESS = 1e-4  # of the size of a hole: how far its rim may lie from one plane


def repair(mesh: Mesh) -> tuple[Mesh, list[Finding]]:
    """Turn flipped facets, drop repeated ones, close flat holes, turn bodies right side out, join overlaps.

    Returns
    -------
    mesh : Mesh
        The repaired mesh; the same one where nothing was done.
    done : list of Finding
        One note per step that changed something.
    """
    done: list[Finding] = []
    for step in (_drop_repeated, _turn_flipped, _close_flat_holes, _turn_bodies, _join_bodies):
        changed, said = step(mesh)
        if said:
            before, mesh = mesh.volume, changed
            because = f"Volume {before:.6g} mm³ before, {mesh.volume:.6g} mm³ after."
            done.append(Finding(f"repair.{step.__name__.strip('_')}", Severity.NOTE, said, because))
    return mesh, done


def _drop_repeated(mesh: Mesh) -> tuple[Mesh, str]:
    if mesh.closed:
        return mesh, ""
    repeated, opposed = coincident(mesh.triangles)
    drop = repeated | opposed
    if not drop.any() or drop.all() or has_no_volume(mesh.part(~drop)):
        return mesh, ""
    said = [f"{int(repeated.sum()):,} repeated facets dropped"] if repeated.any() else []
    said += [f"{int(opposed.sum()) // 2:,} facets of shared walls dropped"] if opposed.any() else []
    return mesh.part(~drop), f"Repaired: {', '.join(said)}."


def _turn_flipped(mesh: Mesh) -> tuple[Mesh, str]:
    if mesh.closed:
        return mesh, ""
    faults = edge_faults(mesh)
    if faults.unorientable or not faults.flipped.any():
        return mesh, ""
    triangles = mesh.triangles.copy()
    triangles[faults.flipped] = triangles[faults.flipped][:, ::-1]
    return (
        Mesh(mesh.vertices, triangles, mesh.name),
        f"Repaired: {int(faults.flipped.sum()):,} flipped facets turned round.",
    )


def _close_flat_holes(mesh: Mesh) -> tuple[Mesh, str]:
    if mesh.closed:
        return mesh, ""
    caps = [cap for loop in hole_loops(edge_faults(mesh).open_edges) if (cap := _cap(mesh, loop)) is not None]
    if not caps:
        return mesh, ""
    closed = Mesh(mesh.vertices, np.concatenate([mesh.triangles, *caps]).astype(np.int32), mesh.name)
    if has_no_volume(closed):
        return mesh, ""
    return closed, f"Repaired: {len(caps):,} flat holes closed."


def _cap(mesh: Mesh, loop: Integers) -> Integers | None:
    """Triangles over a hole whose rim is flat; None where it is not."""
    rim = mesh.vertices[loop[::-1]]
    centre = rim.mean(axis=0)
    axes: Floats = np.linalg.svd(rim - centre)[2]
    size = float(np.abs(rim - centre).max())
    if float(np.abs((rim - centre) @ axes[2]).max()) > FLATNESS * size:
        return None
    flat = np.ascontiguousarray((rim - centre) @ axes[:2].T)
    x, y = flat.T
    if float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) < 0:
        flat[:, 0] *= -1
    cut = np.asarray(manifold3d.triangulate([flat]), dtype=np.int64)
    return loop[::-1][cut] if len(cut) == len(loop) - 2 else None


def _turn_bodies(mesh: Mesh) -> tuple[Mesh, str]:
    """Turn round shells that enclose negative volume and lie in no other body."""
    if not mesh.closed:
        return mesh, ""
    wrong = inside_out_bodies(mesh)
    if not wrong:
        return mesh, ""
    turn = np.isin(mesh.body_of_triangle, wrong)
    triangles = mesh.triangles.copy()
    triangles[turn] = triangles[turn][:, ::-1]
    return Mesh(
        mesh.vertices, triangles, mesh.name
    ), f"Repaired: {len(wrong):,} bodies turned right side out."


def _join_bodies(mesh: Mesh) -> tuple[Mesh, str]:
    """Unite overlapping and nested bodies through manifold3d."""
    rules = {finding.rule for finding in check_soundness(mesh)}
    if not rules & {"mesh.overlapping_bodies", "mesh.nested_bodies"}:
        return mesh, ""
    solid = as_solid(mesh)
    if solid is None:
        return mesh, ""
    return from_solid(united(solid), mesh.name), "Repaired: overlapping bodies joined into one."
