"""Reading: every form gives the same mesh, and what is wrong with a file is one clear message."""

from __future__ import annotations

import runpy
import struct
import zipfile
from pathlib import Path

import numpy as np
import pytest
import yaml
from geometry_shapes import box, cylinder, together
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.errors import ModelFileError
from recommender.geometry.mesh import Mesh, is_closed, weld
from recommender.geometry.reading import read_model
from recommender.geometry.writing import stl_bytes, three_mf_bytes, write_model

MODELS = Path(__file__).resolve().parents[2] / "datasets" / "models"


def text_stl(mesh: Mesh) -> str:
    facets = []
    for corners in mesh.vertices[mesh.triangles]:
        vertices = "\n".join("vertex " + " ".join(f"{v:.9g}" for v in corner) for corner in corners)
        facets.append(f"facet normal 0 0 0\nouter loop\n{vertices}\nendloop\nendfacet")
    return "solid tested\n" + "\n".join(facets) + "\nendsolid tested\n"


def obj_text(mesh: Mesh) -> str:
    lines = [f"v {x:.9g} {y:.9g} {z:.9g}" for x, y, z in mesh.vertices]
    lines += [f"f {a + 1}//1 {b + 1}//1 {c + 1}//1" for a, b, c in mesh.triangles]
    return "\n".join(lines)


def write(folder: Path, name: str, content: bytes | str) -> Path:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def stl_of(*corners: float) -> bytes:
    """A binary STL of one triangle."""
    return b"\0" * 80 + struct.pack("<I12fH", 1, 0, 0, 0, *corners, 0)


# The same part in every form


@pytest.mark.parametrize(
    ("name", "content", "form"),
    [
        ("a.stl", stl_bytes(box(3, 4, 12)), "binary STL"),
        ("b.stl", text_stl(box(3, 4, 12)), "text STL"),
        ("c.obj", obj_text(box(3, 4, 12)), "OBJ"),
        ("d.3mf", three_mf_bytes(box(3, 4, 12)), "3MF"),
        ("wrong_ending.obj", stl_bytes(box(3, 4, 12)), "binary STL"),
        ("solid.stl", b"solid but binary".ljust(80) + stl_bytes(box(3, 4, 12))[80:], "binary STL"),
        ("capitals.stl", text_stl(box(3, 4, 12)).upper(), "text STL"),
    ],
)
def test_every_form_gives_the_same_closed_box(tmp_path: Path, name: str, content: bytes, form: str) -> None:
    model = read_model(write(tmp_path, name, content))
    assert (model.form, len(model.mesh.triangles), len(model.mesh.vertices)) == (form, 12, 8)
    # 3 * 4 * 12 and 2 (12 + 36 + 48); single precision holds these numbers exactly
    assert model.mesh.volume == pytest.approx(144, rel=1e-12)
    assert model.mesh.surface_area == pytest.approx(192, rel=1e-12)
    assert is_closed(model.mesh.triangles)


def test_centre_of_mass_of_an_l() -> None:
    # By hand: boxes 4x2x1 at (2, 1, .5) and 2x2x3 at (1, 3, 1.5): volumes 8 and 12.
    l_shape = together(box(4, 2, 1), box(2, 2, 3, (0, 2.5, 0)))
    expected = (np.array([2, 1, 0.5]) * 8 + np.array([1, 3.5, 1.5]) * 12) / 20
    assert l_shape.centre_of_mass == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("ending", ["stl", "3mf"])
def test_what_is_written_is_read_again(tmp_path: Path, ending: str) -> None:
    mesh = cylinder(7.3, 2.9, 31)
    write_model(mesh, tmp_path / f"out.{ending}")
    again = read_model(tmp_path / f"out.{ending}").mesh
    assert again.volume == pytest.approx(mesh.volume, rel=1e-6)  # single precision
    assert len(again.triangles) == len(mesh.triangles)
    assert [p.name for p in tmp_path.iterdir()] == [f"out.{ending}"]


def test_units_of_the_file_and_of_the_user(tmp_path: Path) -> None:
    inches = three_mf_bytes(box(1, 1, 1))
    path = write(tmp_path, "box.3mf", inches)
    with zipfile.ZipFile(path) as package:
        model = package.read("3D/3dmodel.model").replace(b"millimeter", b"inch")
    path = package_of(tmp_path, model)
    assert read_model(path).mesh.volume == pytest.approx(25.4**3)
    assert read_model(path).unit_known
    assert read_model(path, unit="mm").mesh.volume == pytest.approx(1.0)
    stl = write(tmp_path, "box.stl", stl_bytes(box(1, 1, 1)))
    assert not read_model(stl).unit_known
    assert read_model(stl, unit="cm").mesh.volume == pytest.approx(1000.0)
    with pytest.raises(ModelFileError, match="furlong"):
        read_model(stl, unit="furlong")


def test_a_concave_obj_polygon_keeps_its_area(tmp_path: Path) -> None:
    # An arrowhead of area 4 (shoelace by hand): fanned from its first corner it would fold over itself.
    outline = [(0, 0), (4, 2), (0, 4), (2, 2)]
    lines = [f"v {x} {y} 0" for x, y in outline] + ["f 4 1 2 3", "f 1 2 3 4"]
    mesh = read_model(write(tmp_path, "arrow.obj", "\n".join(lines))).mesh
    assert mesh.areas.sum() == pytest.approx(2 * 4.0)


def test_nearly_equal_corners_are_joined_and_said(tmp_path: Path) -> None:
    mesh = cylinder(40, 30, 64)
    corners = mesh.vertices[mesh.triangles].reshape(-1, 3)
    shaken = corners + np.random.default_rng(5).uniform(-2e-6, 2e-6, corners.shape)
    model = read_model(
        write(tmp_path, "s.stl", stl_bytes(Mesh(shaken, np.arange(len(shaken)).reshape(-1, 3))))
    )
    assert is_closed(model.mesh.triangles)
    assert any("joined" in remark for remark in model.remarks)


# Placement in 3MF


def package_of(folder: Path, model: bytes, name: str = "p.3mf") -> Path:
    path = folder / name
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("3D/3dmodel.model", model)
    return path


def model_xml(resources: str, build: str, head: str = "") -> bytes:
    space = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    return (
        f'<?xml version="1.0"?>{head}<model unit="millimeter" xmlns="{space}">'
        f"<resources>{resources}</resources><build>{build}</build></model>"
    ).encode()


def mesh_xml(mesh: Mesh) -> str:
    vertices = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in mesh.vertices)
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles)
    return f"<mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh>"


def test_components_and_transforms(tmp_path: Path) -> None:
    resources = (
        f'<object id="1">{mesh_xml(box(2, 3, 4))}</object><object id="2"><components>'
        '<component objectid="1"/><component objectid="1" transform="-1 0 0 0 1 0 0 0 1 10 0 0"/>'
        "</components></object>"
    )
    build = '<item objectid="2" transform="2 0 0 0 2 0 0 0 2 0 0 100"/>'
    mesh = read_model(package_of(tmp_path, model_xml(resources, build))).mesh
    # Two boxes of 24 mm^3, doubled in size; the second is mirrored to x from 8 to 10, doubled 16 to 20.
    assert mesh.volume == pytest.approx(2 * 24 * 8)
    assert mesh.bounds.tolist() == [[0, 0, 100], [20, 6, 108]]


# Files that are wrong


def bomb(folder: Path) -> Path:
    return package_of(folder, model_xml("", "") + b" " * 80_000_000)


def entities(folder: Path) -> Path:
    head = '<!DOCTYPE m [<!ENTITY a "' + "x" * 50 + '"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    return package_of(folder, model_xml('<object id="&b;"/>', "", head))


def endless_components(folder: Path) -> Path:
    loop = (
        '<object id="1"><components><component objectid="1"/><component objectid="1"/></components></object>'
    )
    return package_of(folder, model_xml(loop, '<item objectid="1"/>'))


def many_components(folder: Path) -> Path:
    """Ten copies of ten copies of ...: 10^9 triangles from a small file."""
    objects = [f'<object id="0">{mesh_xml(box(1, 1, 1))}</object>']
    for k in range(1, 9):
        copies = f'<component objectid="{k - 1}"/>' * 10
        objects.append(f'<object id="{k}"><components>{copies}</components></object>')
    return package_of(folder, model_xml("".join(objects), '<item objectid="8"/>'))


def sparse_ten_gigabytes(folder: Path) -> Path:
    path = write(folder, "huge.stl", b"\0" * 80 + struct.pack("<I", 7))
    with path.open("r+b") as file:
        file.truncate(10_000_000_000)
    return path


def honest_ten_gigabytes(folder: Path) -> Path:
    count = 200_000_000
    path = write(folder, "huge.stl", b"\0" * 80 + struct.pack("<I", count))
    with path.open("r+b") as file:
        file.truncate(84 + 50 * count)
    return path


WRONG = {
    "empty": lambda f: write(f, "e.stl", b""),
    "zero triangles": lambda f: write(f, "z.stl", b"\0" * 84),
    "lying count": lambda f: write(f, "l.stl", stl_bytes(box(1, 1, 1))[:-50]),
    "count of four thousand million": lambda f: write(f, "c.stl", b"\0" * 80 + b"\xff" * 4 + b"\0" * 500),
    "ten gigabytes by its header": lambda f: write(f, "h.stl", b"\0" * 80 + struct.pack("<I", 200_000_000)),
    "ten sparse gigabytes": sparse_ten_gigabytes,
    "ten consistent gigabytes": honest_ten_gigabytes,
    "not a number": lambda f: write(f, "n.stl", stl_of(0, 0, 0, float("nan"), 0, 0, 0, 1, 0)),
    "infinity": lambda f: write(f, "i.stl", stl_of(0, 0, 0, float("inf"), 0, 0, 0, 1, 0)),
    "beyond all parts": lambda f: write(f, "b.stl", stl_of(0, 0, 0, 1e30, 0, 0, 0, 1, 0)),
    "one point three times": lambda f: write(f, "o.stl", stl_of(1, 2, 3, 1, 2, 3, 1, 2, 3)),
    "a letter": lambda f: write(f, "t.stl", "Dear Sir,\nplease print this.\n"),
    "a text that claims to be STL": lambda f: write(f, "t.stl", "solid ground under our feet\n" * 50),
    "text cut short": lambda f: write(f, "t.stl", text_stl(box(1, 1, 1))[:-200]),
    "text without its end": lambda f: write(
        f, "t.stl", text_stl(box(1, 1, 1)).replace("endsolid tested", "")
    ),
    "text with a word for a number": lambda f: write(
        f, "t.stl", text_stl(box(1, 1, 1)).replace(" 1 ", " one ")
    ),
    "text with NaN": lambda f: write(f, "t.stl", text_stl(box(1, 1, 1)).replace("1 0 0", "nan 0 0")),
    "one word without end": lambda f: write(f, "t.stl", b"solid " + b"a" * 30_000_000),
    "OBJ with a vertex too few": lambda f: write(f, "o.obj", "v 0 0 0\nv 1 0 0\nf 1 2 3\n"),
    "OBJ with a face of two": lambda f: write(f, "o.obj", "v 0 0 0\nv 1 0 0\nf 1 2\n"),
    "OBJ with vertex zero": lambda f: write(f, "o.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n"),
    "OBJ without faces": lambda f: write(f, "o.obj", "v 0 0 0\n"),
    "zip that is no 3MF": lambda f: package_of(f, b"not xml"),
    "3MF without triangles": lambda f: package_of(f, model_xml("", "")),
    "3MF with a foreign unit": lambda f: package_of(f, b'<model unit="cubit"/>'),
    "3MF with a missing object": lambda f: package_of(f, model_xml("", '<item objectid="9"/>')),
    "zip cut short": lambda f: write(f, "z.3mf", three_mf_bytes(box(1, 1, 1))[:300]),
    "zip bomb": bomb,
    "entity bomb": entities,
    "components without end": endless_components,
    "a thousand million triangles from components": many_components,
    "a folder": lambda f: f,
    "nothing there": lambda f: f / "missing.stl",
}


@pytest.mark.parametrize("case", WRONG)
@pytest.mark.timeout(20)
def test_a_wrong_file_is_one_clear_message(tmp_path: Path, case: str) -> None:
    with pytest.raises(ModelFileError) as caught:
        read_model(WRONG[case](tmp_path))
    message = str(caught.value)
    assert "\n" not in message
    assert caught.value.remedy


def test_a_large_file_is_refused_or_simplified_by_consent(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("recommender.geometry.reading.TRIANGLE_LIMIT", 5000)
    import manifold3d

    from recommender.geometry.mesh import from_solid

    ball = from_solid(manifold3d.Manifold.sphere(20, 200))
    assert len(ball.triangles) > 5000
    path = write(tmp_path, "ball.stl", stl_bytes(ball))
    with pytest.raises(ModelFileError, match="--simplify"):
        read_model(path)
    model = read_model(path, simplify_mm=2.0)
    assert len(model.mesh.triangles) <= 5000
    assert "simplified" in model.remarks[-1]
    # Moved by at most sqrt(3)/2 * 2 mm; the ball of 20 mm keeps its volume within a few per cent.
    assert model.mesh.volume == pytest.approx(ball.volume, rel=0.05)


# Two thousand mutated files

SEEDS = {
    "binary": stl_bytes(box(3, 4, 12)),
    "text": text_stl(box(3, 4, 12)).encode(),
    "obj": obj_text(box(3, 4, 12)).encode(),
    "3mf": three_mf_bytes(box(3, 4, 12)),
}


def mutated(content: bytes, random: np.random.Generator) -> bytes:
    """A file with a few bytes changed, a piece cut out, doubled or moved."""
    changed = bytearray(content)
    for _ in range(int(random.integers(1, 6))):
        kind, at = int(random.integers(5)), int(random.integers(max(len(changed), 1)))
        length = int(random.integers(1, 60))
        if kind == 0:
            changed[at : at + 1] = bytes([int(random.integers(256))])
        elif kind == 1:
            del changed[at : at + length]
        elif kind == 2:
            changed[at:at] = changed[at : at + length]
        elif kind == 3:
            changed[at : at + length] = random.bytes(length)
        else:
            del changed[at:]
    return bytes(changed)


@pytest.mark.parametrize("form", SEEDS)
def test_five_hundred_mutated_files_of_each_form(tmp_path: Path, form: str) -> None:
    random = np.random.default_rng(list(SEEDS).index(form))
    read, refused = 0, 0
    for k in range(500):
        path = write(tmp_path, f"m{k % 7}.stl", mutated(SEEDS[form], random))
        try:
            mesh = read_model(path).mesh
        except ModelFileError as error:
            refused += 1
            assert "\n" not in str(error)
        else:
            read += 1
            assert np.isfinite(mesh.vertices).all()
    assert read + refused == 500
    assert refused > 100  # the mutations do harm
    assert form == "3mf" or read > 0


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(*[st.sampled_from([0.0, -0.0, 1.0, 2.5, -3.25])] * 3), min_size=3, max_size=60))
def test_welding_joins_equal_points_and_no_others(points: list[tuple[float, float, float]]) -> None:
    given_points = np.array(points, dtype=np.float32)
    vertices, index = weld(given_points)
    assert np.array_equal(vertices[index], given_points)
    assert len(np.unique(vertices, axis=0)) == len(vertices)


def test_the_sample_models_are_what_their_script_makes(tmp_path: Path) -> None:
    script = runpy.run_path(str(MODELS / "make_models.py"))
    script["main"](tmp_path)
    made = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    kept = {path.name for path in MODELS.iterdir()} - {"make_models.py", "about.yaml", "__pycache__"}
    assert set(made) == kept
    assert set(yaml.safe_load((MODELS / "about.yaml").read_text(encoding="utf-8"))["files"]) == kept
    for name, content in made.items():
        if name.endswith(".stl"):  # compression of 3MF may differ between versions of zlib
            assert len(content) == len((MODELS / name).read_bytes()), name
