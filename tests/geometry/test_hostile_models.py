"""The whole check on damaged geometry: an answer or one clear message, never a crash, nothing half written."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import manifold3d
import numpy as np
import pytest
from geometry_shapes import box

from recommender.cli.progress import progress_line
from recommender.errors import PartdutyError
from recommender.geometry import check_text
from recommender.geometry.check import CheckSettings
from recommender.geometry.mesh import Mesh, from_solid
from recommender.geometry.part_check import Questions, examine
from recommender.geometry.solid import as_solid
from recommender.geometry.writing import stl_bytes, write_model

ROOT = Path(__file__).resolve().parents[2]


def soup(random: np.random.Generator) -> Mesh:
    """Triangles between random points: edges of one, three and many triangles."""
    count = int(random.integers(3, 30))
    vertices = random.normal(size=(count, 3)) * 10 ** random.uniform(-3, 3)
    return Mesh(vertices, random.integers(0, count, size=(int(random.integers(1, 60)), 3)).astype(np.int32))


def crumpled(random: np.random.Generator) -> Mesh:
    """A closed part with some of its corners moved anywhere."""
    part = manifold3d.Manifold.cube((20, 10, 6)) - manifold3d.Manifold.cylinder(30, 2, 2, 12).translate(
        (5, 5, -5)
    )
    mesh = from_solid(part)
    moved = random.random(len(mesh.vertices)) < random.random()
    vertices = mesh.vertices.copy()
    vertices[moved] += random.normal(size=(int(moved.sum()), 3)) * 10 ** random.uniform(-6, 2)
    return Mesh(np.round(vertices) if random.random() < 0.3 else vertices, mesh.triangles)


@pytest.mark.parametrize("make", [soup, crumpled])
@pytest.mark.timeout(120)
def test_damaged_geometry_gets_an_answer(tmp_path: Path, make: object) -> None:
    random = np.random.default_rng(7)
    answered = 0
    for k in range(60):
        path = tmp_path / "damaged.stl"
        path.write_bytes(stl_bytes(make(random)))  # type: ignore[operator]
        questions = Questions(check=CheckSettings(repair=bool(k % 2)), orientations=200 * (k % 5 == 0))
        try:
            report = examine(path, questions)
        except PartdutyError as error:
            assert "\n" not in str(error)
            continue
        answered += 1
        json.dumps(check_text.as_values(report), allow_nan=False)
        assert max(map(len, check_text.as_text(report).splitlines())) <= 80
    assert answered > 20


def test_the_solid_library_never_sees_edges_that_do_not_pair_up() -> None:
    # Three facets on one edge made version 3.5.4 of the library end the whole program.
    random = np.random.default_rng(2)
    for _ in range(200):
        mesh = soup(random)
        solid = as_solid(mesh)
        assert solid is None or solid.volume() == pytest.approx(mesh.volume, abs=1e-6 * mesh.surface_area)


def test_an_interrupted_write_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(self: Path, target: Path) -> Path:
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_model(box(1, 2, 3), tmp_path / "part.3mf")
    assert list(tmp_path.iterdir()) == []


def test_an_existing_file_survives_an_interrupted_write(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "part.stl"
    write_model(box(1, 2, 3), path)
    before = path.read_bytes()

    def interrupted(self: Path, target: Path) -> Path:
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_model(box(9, 9, 9), path)
    assert path.read_bytes() == before


def test_memory_stays_bounded_on_a_file_that_lies(tmp_path: Path) -> None:
    # A header that promises 200 million triangles (10 GB) to a process that may not have more than 3 GB of
    # address space; the libraries alone take 1 to 2 GB of it.
    path = tmp_path / "lies.stl"
    path.write_bytes(b"\0" * 80 + (200_000_000).to_bytes(4, "little") + b"\0" * 5000)
    code = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_AS, (3_000_000_000, 3_000_000_000));"
        "from recommender.cli import main; sys.argv = ['partduty', 'check', sys.argv[1]]; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], cwd=ROOT, capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 2
    assert done.stderr.startswith("error: ")
    assert len(done.stderr.splitlines()) == 1


def test_progress_shows_on_standard_error_after_a_second(capsys: pytest.CaptureFixture[str]) -> None:
    clock = iter([0.0, 0.5, 1.5, 1.6, 2.0])
    show = progress_line(lambda: next(clock))
    for done in range(1, 5):
        show("cutting layers", done, 4)
    shown = capsys.readouterr().err
    assert shown.count("cutting layers") == 2  # at 1.5 s and 2.0 s; 1.6 s is too soon after 1.5 s
    assert "50 %" in shown
    assert "100 %" in shown
