"""Every flaw of the sample models is named, and sound ones are left in peace."""

from __future__ import annotations

from pathlib import Path

import manifold3d
import numpy as np
import pytest
from geometry_shapes import box, together, turned
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.geometry.check import CheckSettings, check_model
from recommender.geometry.edges import coincident, edge_faults
from recommender.geometry.findings import Severity
from recommender.geometry.mesh import Mesh, from_solid
from recommender.geometry.repair import repair
from recommender.geometry.solid import as_solid
from recommender.geometry.soundness import check_soundness

MODELS = Path(__file__).resolve().parents[2] / "datasets" / "models"

FLAWS = {
    "flaw_holes.stl": "mesh.open_edges",
    "flaw_flipped_facets.stl": "mesh.flipped_facets",
    "flaw_inside_out.stl": "mesh.inside_out",
    "flaw_repeated_facets.stl": "mesh.repeated_facets",
    "flaw_overlapping_bodies.stl": "mesh.overlapping_bodies",
    "flaw_nested_bodies.stl": "mesh.nested_bodies",
    "flaw_crossing_itself.stl": "mesh.crosses_itself_mostly",
    "flaw_flat_sheet.stl": "mesh.no_volume",
}
SOUND = [
    "shelf_bracket.stl",
    "crank_lever.3mf",
    "wall_hook.stl",
    "drain_pipe_clip.obj",
    "mushroom_knob.stl",
    "hollow_ball.stl",
    "soap_box.stl",
    "two_bodies.stl",
]


@pytest.mark.parametrize("name", FLAWS)
def test_each_flaw_on_purpose_is_the_problem_named(name: str) -> None:
    result = check_model(MODELS / name, CheckSettings())
    problems = {finding.rule for finding in result.findings if finding.severity is Severity.PROBLEM}
    assert FLAWS[name] in problems
    assert problems <= {FLAWS[name], "layers.not_cut"}
    assert not result.fine


@pytest.mark.parametrize("name", SOUND)
def test_sound_models_have_no_problem(name: str) -> None:
    result = check_model(MODELS / name, CheckSettings())
    assert result.fine, [finding.summary for finding in result.findings]


@pytest.mark.parametrize(
    ("name", "volume"),
    [
        ("flaw_flipped_facets.stl", None),
        ("flaw_inside_out.stl", None),
        ("flaw_repeated_facets.stl", None),
        (
            "flaw_overlapping_bodies.stl",
            8000 - 8 * 15 * 7,
        ),  # two of 20 x 20 x 10 less their common 8 x 15 x 7
        ("flaw_nested_bodies.stl", 8000),
    ],
)
def test_repair_gives_the_volume_of_the_sound_part(name: str, volume: float | None) -> None:
    result = check_model(MODELS / name, CheckSettings(repair=True))
    sound = check_model(MODELS / "soap_box.stl", CheckSettings()).model.mesh.volume
    assert result.fine
    assert result.model.mesh.volume == pytest.approx(volume or sound, rel=1e-6)  # single precision file
    assert any(finding.rule.startswith("repair.") for finding in result.findings)


def test_a_flat_hole_is_closed_and_a_crooked_one_is_left() -> None:
    cube = box(10, 10, 10)
    top = np.isclose(cube.vertices[cube.triangles][:, :, 2], 10).all(axis=1)
    repaired, done = repair(cube.part(~top))
    assert repaired.volume == pytest.approx(1000)
    assert [finding.rule for finding in done] == ["repair.close_flat_holes"]
    ball = from_solid(manifold3d.Manifold.sphere(10, 24))
    mesh = ball.part(ball.vertices[ball.triangles][:, :, 2].mean(axis=1) < 4)
    around = edge_faults(mesh).open_edges
    assert len(around) > 4
    assert np.ptp(mesh.vertices[around][:, :, 2]) > 0.01  # the rim is not flat
    assert repair(mesh)[1] == []


def test_nothing_is_repaired_unasked() -> None:
    result = check_model(MODELS / "flaw_inside_out.stl", CheckSettings())
    assert result.model.mesh.volume < 0


def test_a_cavity_is_no_flaw_but_an_inverted_neighbour_is() -> None:
    cavity = together(box(20, 20, 20), turned(box(5, 5, 5, (5, 5, 5))))
    assert [finding.rule for finding in check_soundness(cavity)] == ["mesh.closed_cavity"]
    beside = together(box(20, 20, 20), turned(box(5, 5, 5, (30, 0, 0))))
    assert [finding.rule for finding in check_soundness(beside)] == ["mesh.inside_out"]


def test_flipped_facets_are_the_smaller_part() -> None:
    cube = box(10, 20, 30)
    triangles = cube.triangles.copy()
    triangles[[2, 7]] = triangles[[2, 7]][:, ::-1]
    faults = edge_faults(Mesh(cube.vertices, triangles))
    assert np.flatnonzero(faults.flipped).tolist() == [2, 7]
    assert not faults.unorientable


def test_a_one_sided_band_has_no_right_way_round() -> None:
    # A Moebius band of 12 cells: turning any facets never makes all agree.
    n = 12
    angles = 2 * np.pi * np.arange(n) / n
    along = np.stack([np.cos(angles), np.sin(angles), 0 * angles], axis=1)
    across = np.stack(
        [np.cos(angles / 2) * np.cos(angles), np.cos(angles / 2) * np.sin(angles), np.sin(angles / 2)], axis=1
    )
    vertices = np.concatenate([10 * along + across, 10 * along - across])
    triangles = []
    for k in range(n):
        a, b = k, k + n
        c, d = (k + 1, k + 1 + n) if k + 1 < n else (n, 0)
        triangles += [(a, b, c), (c, b, d)]
    faults = edge_faults(Mesh(vertices, np.array(triangles, dtype=np.int32)))
    assert faults.unorientable


def test_two_cubes_on_one_edge_are_crowded() -> None:
    one, other = box(5, 5, 5), box(5, 5, 5, (5, 5, 0))
    both = together(one, other)
    vertices, index = np.unique(both.vertices, axis=0, return_inverse=True)
    mesh = Mesh(vertices, index.ravel()[both.triangles].astype(np.int32))
    (finding,) = check_soundness(mesh)
    assert (finding.rule, finding.severity) == ("mesh.crowded_edges", Severity.CAUTION)
    solid = as_solid(mesh)
    assert solid is not None
    assert solid.volume() == pytest.approx(250)


def joined_corners(*meshes: Mesh) -> Mesh:
    """Meshes whose equal corners are one, as a file without bodies gives them."""
    both = together(*meshes)
    vertices, index = np.unique(both.vertices, axis=0, return_inverse=True)
    return Mesh(vertices, index.ravel()[both.triangles].astype(np.int32))


def test_bodies_that_share_a_wall_are_one_solid() -> None:
    # Boxes of 5 x 5 x 5 and 5 x 5 x 5 above it: the wall between has two facets from each side.
    upper = box(5, 5, 5, (0, 0, 5))
    lower = Mesh(upper.vertices * [1, 1, -1] + [0, 0, 10], np.ascontiguousarray(upper.triangles[:, ::-1]))
    mesh = joined_corners(upper, lower)
    (finding,) = check_soundness(mesh)
    assert (finding.rule, finding.severity) == ("mesh.shared_walls", Severity.CAUTION)
    assert finding.summary.startswith("2 pairs")
    solid = as_solid(mesh)
    assert solid is not None
    assert solid.volume() == pytest.approx(250)
    repaired, done = repair(mesh)
    assert repaired.closed
    assert repaired.volume == pytest.approx(250)
    assert "2 facets of shared walls" in done[0].summary


@settings(max_examples=60, deadline=None)
@given(st.lists(st.permutations([0, 1, 2]), min_size=1, max_size=7))
def test_coincident_triangles_cancel_in_pairs_and_repeat_beyond_one(ways: list[list[int]]) -> None:
    triangles = np.array(ways, dtype=np.int32)
    even = [tuple(way) in {(0, 1, 2), (1, 2, 0), (2, 0, 1)} for way in ways]
    pairs = min(sum(even), len(even) - sum(even))
    repeated, opposed = coincident(triangles)
    assert opposed.sum() == 2 * pairs
    left = len(ways) - 2 * pairs
    assert repeated.sum() == max(left - 1, 0)
    assert not (repeated & opposed).any()


def test_a_fin_on_a_box_has_no_clear_inside() -> None:
    # One more facet on an edge of a box: three facets meet there.
    cube = box(5, 5, 5)
    fin = np.array([[cube.triangles[0, 0], cube.triangles[0, 1], len(cube.vertices)]], dtype=np.int32)
    mesh = Mesh(np.vstack([cube.vertices, [9.0, 9, 9]]), np.concatenate([cube.triangles, fin]))
    rules = {f.rule: f.severity for f in check_soundness(mesh)}
    assert rules["mesh.crowded_edges"] is Severity.PROBLEM
    assert as_solid(mesh) is None


def test_touching_boxes_do_not_overlap() -> None:
    rules = {f.rule for f in check_soundness(together(box(5, 5, 5), box(5, 5, 5, (5.001, 0, 0))))}
    assert rules == {"mesh.several_bodies"}


def test_the_unit_is_asked_when_it_looks_wrong() -> None:
    result = check_model(MODELS / "bracket_in_inches.stl", CheckSettings())
    question = next(finding for finding in result.findings if finding.rule == "units.unlikely_size")
    assert "60 mm if drawn in inch" in question.because
    stated = check_model(MODELS / "bracket_in_inches.stl", CheckSettings(unit="inch"))
    assert stated.fine
    assert "units.unlikely_size" not in {finding.rule for finding in stated.findings}
