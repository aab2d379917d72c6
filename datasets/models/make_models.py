"""Make the sample models of this folder, sound ones and ones with flaws on purpose.

Usage: ``python datasets/models/make_models.py [FOLDER]`` (the folder of this script unless told otherwise).
Every shape is built here from primitives; nothing is taken from elsewhere. Sizes are mm.
"""

from __future__ import annotations

import struct
import sys
from collections.abc import Callable
from pathlib import Path

import manifold3d
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from recommender.geometry.mesh import Mesh, from_solid
from recommender.geometry.writing import stl_bytes, three_mf_bytes

Solid = manifold3d.Manifold
LINE_WIDTH = 0.45
STEPS = [round(LINE_WIDTH + 0.05 * k, 2) for k in range(-4, 5)]


def box(x: float, y: float, z: float, at: tuple[float, float, float] = (0, 0, 0)) -> Solid:
    return Solid.cube((x, y, z)).translate(at)


def rod(
    height: float, radius: float, at: tuple[float, float, float] = (0, 0, 0), segments: int = 64
) -> Solid:
    return Solid.cylinder(height, radius, radius, segments).translate(at)


def shelf_bracket() -> Solid:
    """An angle of 6 mm plate, 40 wide, with two holes in each leg and a rib."""
    angle = box(60, 40, 6) + box(6, 40, 50)
    rib_outline = manifold3d.CrossSection([[(5, 5), (35, 5), (5, 35)]])
    rib = rib_outline.extrude(5).rotate((90, 0, 0)).translate((0, 22.5, 0))
    for y in (10, 30):
        angle -= rod(20, 2.6, (48, y, -5))
        angle -= rod(20, 2.6).rotate((0, 90, 0)).translate((-5, y, 40))
    return angle + rib


def crank_lever() -> Solid:
    """A tapering lever 90 long and 8 thick with a boss and a hole at each end."""
    arm = manifold3d.CrossSection([[(0, -9), (90, -5), (90, 5), (0, 9)]]).extrude(8)
    lever = arm + rod(14, 12) + rod(10, 8, (90, 0, 0))
    return lever - rod(40, 5, (0, 0, -10)) - rod(40, 3, (90, 0, -10))


def wall_hook() -> Solid:
    """A half ring on a back plate."""
    ring = manifold3d.CrossSection.circle(22, 96) - manifold3d.CrossSection.circle(14, 96)
    half = ring - manifold3d.CrossSection.square((60, 30)).translate((-30, 0))
    plate = box(5, 60, 16, (17, -18, 0))
    screws = rod(30, 2.2).rotate((0, 90, 0)).translate((5, 30, 8))
    return half.extrude(10).translate((0, 0, 3)) + plate - screws


def drain_pipe_clip() -> Solid:
    """A C-shaped clip for a 32 mm pipe."""
    ring = manifold3d.CrossSection.circle(18.5, 96) - manifold3d.CrossSection.circle(16.2, 96)
    return (ring - manifold3d.CrossSection.square((40, 22)).translate((0, -11))).extrude(12)


def mushroom_knob() -> Solid:
    """A knob on a stem: overhangs all round the head."""
    return rod(20, 5) + rod(8, 16, (0, 0, 20)) + Solid.cylinder(6, 16, 10, 64).translate((0, 0, 28))


def calibration_plate() -> Solid:
    """Bars and slots with steps of 0.05 mm around a line of 0.45 mm.

    Bars stand on a base of 1 mm at x = 4, 10, 16 ... with widths 0.25 to 0.65; behind them a block of
    the same height carries slots of the same widths.
    """
    plate = box(60, 40, 1)
    block = box(60, 16, 3, (0, 22, 0))
    for k, width in enumerate(STEPS):
        plate += box(width, 14, 3, (4 + 6 * k - width / 2, 4, 0))
        block -= box(width, 12, 3, (4 + 6 * k - width / 2, 24, 1))
    return plate + block


def raised_letters() -> Solid:
    """A sign plate with raised strokes of 0.6 mm that stand 0.3 mm apart."""
    sign = box(40, 14, 2)
    for k in range(8):
        sign += box(0.6, 8, 0.8, (4 + 0.9 * k, 3, 2))
    for k in range(3):
        sign += box(12, 0.9, 0.8, (24, 3 + 3 * k, 2))
    return sign


def drafted_cup() -> Solid:
    """A cup with a wall of about 0.8 mm: less than two lines."""
    outside = Solid.cylinder(30, 18, 22, 96)
    inside = Solid.cylinder(30, 17.36, 21.36, 96).translate((0, 0, 1.2))
    return outside - inside


def hollow_ball() -> Solid:
    """A ball with a closed cavity, both of 48 segments."""
    return Solid.sphere(15, 48) - Solid.sphere(11, 48)


# Flaws on purpose


def soap_box() -> Mesh:
    return from_solid((box(30, 20, 12) - box(26, 16, 12, (2, 2, 2))) - rod(20, 2, (15, 10, -5)))


def with_holes() -> Mesh:
    mesh = soap_box()
    return Mesh(mesh.vertices, mesh.triangles[3:])


def with_flipped_facets() -> Mesh:
    mesh = soap_box()
    triangles = mesh.triangles.copy()
    triangles[:4] = triangles[:4, ::-1]
    return Mesh(mesh.vertices, triangles)


def inside_out() -> Mesh:
    mesh = soap_box()
    return Mesh(mesh.vertices, np.ascontiguousarray(mesh.triangles[:, ::-1]))


def with_repeated_facets() -> Mesh:
    mesh = soap_box()
    return Mesh(mesh.vertices, np.concatenate([mesh.triangles, mesh.triangles[:5]]))


def together(*meshes: Mesh) -> Mesh:
    """Meshes side by side in one file, without joining them."""
    offsets = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes)])
    triangles = [mesh.triangles + offset for mesh, offset in zip(meshes, offsets[:-1], strict=True)]
    return Mesh(np.concatenate([m.vertices for m in meshes]), np.concatenate(triangles).astype(np.int32))


def overlapping_bodies() -> Mesh:
    return together(from_solid(box(20, 20, 10)), from_solid(box(20, 20, 10, (12, 5, 3))))


def nested_bodies() -> Mesh:
    return together(from_solid(box(20, 20, 20)), from_solid(box(8, 8, 8, (6, 6, 6))))


def two_bodies() -> Mesh:
    return together(from_solid(box(20, 20, 10)), from_solid(rod(15, 6, (40, 10, 0))))


def crossing_itself() -> Mesh:
    """One closed skin that runs through itself: a bar whose end was turned over sideways."""
    mesh = from_solid(box(30, 10, 10).refine(3))
    vertices = mesh.vertices.copy()
    end = np.isclose(vertices[:, 0], 30)
    vertices[end, 1] = 10 - vertices[end, 1]
    return Mesh(vertices, mesh.triangles)


def bracket_in_inches() -> Mesh:
    return from_solid(shelf_bracket()).scaled(1 / 25.4)


def text_stl(mesh: Mesh, name: str) -> bytes:
    lines = [f"solid {name}"]
    for corners in mesh.vertices[mesh.triangles]:
        lines += ["facet normal 0 0 0", " outer loop"]
        lines += ["  vertex " + " ".join(f"{value:.7g}" for value in corner) for corner in corners]
        lines += [" endloop", "endfacet"]
    return ("\n".join([*lines, f"endsolid {name}"]) + "\n").encode()


def obj(mesh: Mesh) -> bytes:
    lines = ["# unit mm, by convention of this file only"]
    lines += ["v " + " ".join(f"{value:.9g}" for value in vertex) for vertex in mesh.vertices]
    lines += ["f " + " ".join(str(index + 1) for index in triangle) for triangle in mesh.triangles]
    return ("\n".join(lines) + "\n").encode()


def stl_with_text_header(mesh: Mesh) -> bytes:
    return b"solid although binary".ljust(80) + stl_bytes(mesh)[80:]


def stl_with_nan(mesh: Mesh) -> bytes:
    content = bytearray(stl_bytes(mesh))
    struct.pack_into("<f", content, 84 + 50 * 3 + 12, float("nan"))
    return bytes(content)


def flat_sheet() -> Mesh:
    vertices = np.array([[0, 0, 0], [20, 0, 0], [20, 10, 0], [0, 10, 0]], dtype=float)
    triangles = np.array([[0, 1, 2], [0, 2, 3]], dtype=np.int32)
    return Mesh(vertices, triangles)


def contents() -> dict[str, Callable[[], bytes]]:
    """File name -> what it holds."""
    return {
        "shelf_bracket.stl": lambda: stl_bytes(from_solid(shelf_bracket())),
        "crank_lever.3mf": lambda: three_mf_bytes(from_solid(crank_lever())),
        "wall_hook.stl": lambda: stl_bytes(from_solid(wall_hook())),
        "drain_pipe_clip.obj": lambda: obj(from_solid(drain_pipe_clip())),
        "mushroom_knob.stl": lambda: stl_bytes(from_solid(mushroom_knob())),
        "calibration_plate.stl": lambda: stl_bytes(from_solid(calibration_plate())),
        "raised_letters.stl": lambda: text_stl(from_solid(raised_letters()), "raised letters"),
        "drafted_cup.3mf": lambda: three_mf_bytes(from_solid(drafted_cup())),
        "hollow_ball.stl": lambda: stl_bytes(from_solid(hollow_ball())),
        "soap_box.stl": lambda: stl_with_text_header(soap_box()),
        "flaw_holes.stl": lambda: stl_bytes(with_holes()),
        "flaw_flipped_facets.stl": lambda: stl_bytes(with_flipped_facets()),
        "flaw_inside_out.stl": lambda: stl_bytes(inside_out()),
        "flaw_repeated_facets.stl": lambda: stl_bytes(with_repeated_facets()),
        "flaw_overlapping_bodies.stl": lambda: stl_bytes(overlapping_bodies()),
        "flaw_nested_bodies.stl": lambda: stl_bytes(nested_bodies()),
        "two_bodies.stl": lambda: stl_bytes(two_bodies()),
        "flaw_crossing_itself.stl": lambda: stl_bytes(crossing_itself()),
        "flaw_flat_sheet.stl": lambda: stl_bytes(flat_sheet()),
        "flaw_not_a_number.stl": lambda: stl_with_nan(soap_box()),
        "flaw_cut_short.stl": lambda: stl_bytes(soap_box())[:-777],
        "bracket_in_inches.stl": lambda: stl_bytes(bracket_in_inches()),
    }


def main(folder: Path) -> None:
    for name, make in contents().items():
        (folder / name).write_bytes(make())


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent)
