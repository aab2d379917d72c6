"""Sample models against an independent mesh library, where the extra ``oracle`` is installed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from recommender.geometry.layers import cut, solid_of
from recommender.geometry.reading import read_model

trimesh = pytest.importorskip("trimesh")

MODELS = Path(__file__).resolve().parents[2] / "datasets" / "models"
SOUND = [
    "shelf_bracket.stl", "crank_lever.3mf", "wall_hook.stl", "drain_pipe_clip.obj", "mushroom_knob.stl",
    "calibration_plate.stl", "raised_letters.stl", "drafted_cup.3mf", "hollow_ball.stl", "soap_box.stl",
]  # fmt: skip


def other(name: str):  # type: ignore[no-untyped-def]
    """The model as the other library reads it; 3MF needs its XML reader."""
    if name.endswith("3mf"):
        pytest.importorskip("lxml")
        pytest.importorskip("networkx")
    return trimesh.load(MODELS / name, force="mesh")


@pytest.mark.parametrize("name", SOUND)
def test_volume_area_centre_and_counts(name: str) -> None:
    ours, theirs = read_model(MODELS / name).mesh, other(name)
    assert len(ours.triangles) == len(theirs.faces)
    # Both sum single precision corners in double precision.
    assert ours.volume == pytest.approx(theirs.volume, rel=1e-9)
    assert ours.surface_area == pytest.approx(theirs.area, rel=1e-9)
    assert ours.centre_of_mass == pytest.approx(theirs.center_mass, abs=1e-6)
    assert ours.extents == pytest.approx(theirs.extents, rel=1e-9)
    assert ours.closed == theirs.is_watertight


@pytest.mark.parametrize(
    "name", ["shelf_bracket.stl", "wall_hook.stl", "mushroom_knob.stl", "raised_letters.stl"]
)
def test_areas_of_sections(name: str) -> None:
    mesh = other(name)
    layers = cut(solid_of(read_model(MODELS / name).mesh), 0.7)
    for k in range(0, len(layers), 3):
        lines, faces = trimesh.intersections.mesh_plane(
            mesh, [0, 0, 1], [0, 0, layers.z_of(k)], return_faces=True
        )
        area = _enclosed(lines[:, :, :2], mesh.face_normals[faces][:, :2])
        assert layers.areas[k] == pytest.approx(area, rel=1e-6, abs=1e-6)


def _enclosed(lines: np.ndarray, normals: np.ndarray) -> float:  # type: ignore[type-arg]
    """Area inside loose lines with outward normals: half the sum of position times normal times length."""
    along = lines[:, 1] - lines[:, 0]
    lengths = np.hypot(along[:, 0], along[:, 1])
    outward = normals / np.linalg.norm(normals, axis=1)[:, None]
    return float(((lines.mean(axis=1) * outward).sum(axis=1) * lengths).sum() / 2)
