"""``suggest --model``: the model's figures replace the form's own box."""

from __future__ import annotations

import json
import struct
import subprocess
import sys
from pathlib import Path

import pytest

SHEET = """part: spacer bar
form: {{kind: bar, length: {length} mm, section: {{shape: rectangle, width: 20 mm, thickness: 10 mm}}}}
loads: [{{kind: static, action: pull, force: 300 N}}]
filaments: [petg]
people: {{if_it_breaks: nuisance}}
"""


def box_stl(x: float, y: float, z: float) -> bytes:
    """A binary STL of a box, twelve triangles."""
    corners = [(a * x, b * y, c * z) for a in (0, 1) for b in (0, 1) for c in (0, 1)]
    faces = [
        (0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1),
        (2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3),
    ]  # fmt: skip
    body = b"".join(
        struct.pack("<3f", 0, 0, 0) + b"".join(struct.pack("<3f", *corners[i]) for i in face) + b"\0\0"
        for face in faces
    )
    return b"box".ljust(80) + struct.pack("<I", len(faces)) + body


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "recommender.cli", *arguments],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def assessed(tmp_path: Path, length: float, *more: str) -> dict[str, object]:
    sheet = tmp_path / "bar.yaml"
    sheet.write_text(SHEET.format(length=length), encoding="utf-8")
    done = run("assess", str(sheet), "--set", "material=petg", "--set", "walls=2", "--json", *more)
    assert done.returncode == 0, done.stderr
    answer: dict[str, object] = json.loads(done.stdout)
    return answer


def test_a_box_model_agrees_with_the_form(tmp_path: Path) -> None:
    # A prism of 120 x 20 x 10 mm: the envelope of the form and the layers of the model describe the same walls.
    # They differ in the rounding of layers near top and bottom, hence 2 %.
    model = tmp_path / "bar.stl"
    model.write_bytes(box_stl(120, 20, 10))
    form = assessed(tmp_path, 120)["choice"]
    cut = assessed(tmp_path, 120, "--model", str(model))["choice"]
    assert isinstance(form, dict) and isinstance(cut, dict)
    assert cut["mass_g"] == pytest.approx(form["mass_g"], rel=0.02)
    assert cut["print_time_min"] == pytest.approx(form["print_time_min"], rel=0.02)
    assert cut["failure_load"] == form["failure_load"]


def test_a_model_of_another_size_is_told(tmp_path: Path) -> None:
    model = tmp_path / "bar.stl"
    model.write_bytes(box_stl(120, 20, 10))
    answer = assessed(tmp_path, 150, "--model", str(model))
    assert any("differ" in line for line in answer["assumptions"])  # type: ignore[attr-defined]


def test_a_broken_model_is_one_message(tmp_path: Path) -> None:
    model = tmp_path / "bar.stl"
    model.write_bytes(box_stl(120, 20, 10)[:300])
    sheet = tmp_path / "bar.yaml"
    sheet.write_text(SHEET.format(length=120), encoding="utf-8")
    done = run("suggest", str(sheet), "--model", str(model))
    assert done.returncode == 2 and len(done.stderr.strip().splitlines()) == 1
