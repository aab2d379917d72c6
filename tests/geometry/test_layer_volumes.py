"""Walls, closed layers and core against boxes and rods computed by hand; time taken apart on three models."""

from __future__ import annotations

import math
from pathlib import Path

import manifold3d
import numpy as np
import pytest
from geometry_shapes import box, box_solid

from recommender.geometry.build_estimate import Machine, Settings, build_estimate
from recommender.geometry.findings import Severity
from recommender.geometry.layer_volumes import layer_regions
from recommender.geometry.layers import cut, solid_of
from recommender.geometry.model_figures import disagreements, model_figures
from recommender.geometry.reading import read_model
from recommender.mechanics.beads import bead_area

MODELS = Path(__file__).resolve().parents[2] / "datasets" / "models"


def test_shell_of_a_box_as_in_the_vector() -> None:
    # Box 20 x 10 x 100 upright: 3 walls of 0.45 leave 17.3 x 7.3; 5 + 5 closed layers of 0.2 leave 98 of 100.
    # Core by hand: 17.3 * 7.3 * 98 = 12376.42; walls (200 - 126.29) * 100 = 7371.
    regions = layer_regions(cut(box_solid(20, 10, 100), 0.2), 3, 0.45, 5, 5)
    assert regions.core_volume == pytest.approx(17.3 * 7.3 * 98, rel=1e-6)
    assert regions.wall_volume == pytest.approx((200 - 17.3 * 7.3) * 100, rel=1e-6)
    assert regions.closed_volume == pytest.approx(17.3 * 7.3 * 2, rel=1e-6)


def test_a_step_is_closed_from_above() -> None:
    # 20 x 10, the right half 4 high, the left 10. No walls, 2 top and 3 bottom layers of 0.5:
    # right: 4 - 1.5 - 1 = 1.5 high core; left: 10 - 1.5 - 1 = 7.5.
    part = box_solid(20, 10, 4) + box_solid(10, 10, 10)
    regions = layer_regions(cut(part, 0.5), 0, 0.45, 2, 3)
    assert regions.core_volume == pytest.approx(100 * 1.5 + 100 * 7.5, rel=1e-6)
    assert regions.wall_volume == 0


def test_regions_add_up_to_the_part() -> None:
    solid = solid_of(read_model(MODELS / "wall_hook.stl").mesh)
    layers = cut(solid, 0.2)
    regions = layer_regions(layers, 3, 0.45, 4, 4)
    total = regions.wall_volume + regions.closed_volume + regions.core_volume
    assert total == pytest.approx(solid.volume(), rel=1e-3)


def test_core_of_a_round_rod() -> None:
    # pi (r - 0.9)^2 (h - 2) within 0.1 %: a rod of 512 sides.
    rod = manifold3d.Manifold.cylinder(30, 8, 8, 512)
    regions = layer_regions(cut(rod, 0.25), 2, 0.45, 4, 4)
    assert regions.core_volume == pytest.approx(math.pi * 7.1**2 * 28, rel=1e-3)


# Time, by hand

MACHINE = Machine(
    wall_speed=50, closed_speed=60, infill_speed=100, travel_speed=200, acceleration=1000,
    maximum_flow=1000, minimum_layer_time=0, layer_overhead=1.5, start_time=240,
)  # fmt: skip


def move(length: float, speed: float, acceleration: float) -> float:
    """Time of one move from rest to rest."""
    if length > speed**2 / acceleration:
        return length / speed + speed / acceleration
    return 2 * math.sqrt(length / acceleration)


def test_time_of_a_box_by_hand() -> None:
    # Box 40 x 20 x 10, layers 0.2, 2 walls, 3 + 3 closed, infill 25 %.
    settings = Settings(0.2, 0.45, 2, 3, 3, 0.25)
    regions = layer_regions(cut(box_solid(40, 20, 10), 0.2), 2, 0.45, 3, 3)
    made = build_estimate(regions, settings, MACHINE)
    inside = 38.2 * 18.2
    bead = (0.45 - 0.2) * 0.2 + math.pi * 0.04 / 4
    assert bead_area(line_width=0.45, layer_height=0.2) == pytest.approx(bead)
    assert made.wall_volume == pytest.approx((800 - inside) * 10)
    assert made.closed_volume == pytest.approx(inside * 1.2)
    assert made.infill_volume == pytest.approx(inside * 8.8 * 0.25)
    side = 120 / 4  # outline 120 mm with 4 corners
    chord = math.pi * inside / 120
    assert made.walls == pytest.approx(made.wall_volume / bead * move(side, 50, 1000) / side)
    assert made.closed == pytest.approx(made.closed_volume / bead * move(chord, 60, 1000) / chord)
    assert made.infill == pytest.approx(made.infill_volume / bead * move(chord, 100, 1000) / chord)
    distance = 0.3687 * math.hypot(40, 20)
    assert made.travel == pytest.approx(50 * 3 * move(distance, 200, 1000))
    assert (made.layer_changes, made.start, made.waiting) == (75.0, 240.0, 0.0)
    parts = made.walls + made.closed + made.infill + made.travel + 75 + 240
    assert made.total == pytest.approx(parts)


def test_time_of_a_rod_is_limited_by_flow() -> None:
    # A rod of radius 10 and 256 sides has no corners: one loop. Flow 2 mm^3/s holds every speed to 2 / bead.
    slow = Machine(**{**MACHINE.__dict__, "maximum_flow": 2.0})
    rod = manifold3d.Manifold.cylinder(20, 10, 10, 256)
    regions = layer_regions(cut(rod, 0.2), 1, 0.45, 0, 0)
    made = build_estimate(regions, Settings(0.2, 0.45, 1, 0, 0, 1.0), slow)
    bead = (0.45 - 0.2) * 0.2 + math.pi * 0.04 / 4
    outline = 2 * 256 * 10 * math.sin(math.pi / 256)
    assert regions.corners.max() == 0
    assert made.walls == pytest.approx(
        made.wall_volume / bead * move(outline, 2 / bead, 1000) / outline, rel=1e-5
    )
    assert (
        made.walls + made.infill > (made.wall_volume + made.infill_volume) / 2
    )  # never faster than the flow
    assert made.volume == pytest.approx(rod.volume(), rel=1e-6)


def test_time_of_two_pegs_waits_for_the_layers() -> None:
    # Two pegs 4 x 4 x 10, 40 mm apart: 50 layers that take far less than 8 s each are held to 8 s.
    pegs = box_solid(4, 4, 10) + box_solid(4, 4, 10, (40, 0, 0))
    patient = Machine(**{**MACHINE.__dict__, "minimum_layer_time": 8.0})
    settings = Settings(0.2, 0.45, 2, 2, 2, 0.2)
    made = build_estimate(layer_regions(cut(pegs, 0.2), 2, 0.45, 2, 2), settings, patient)
    busy = made.walls + made.closed + made.infill + made.travel
    assert busy + made.waiting == pytest.approx(50 * 8)
    distance = 0.3687 * math.hypot(44, 4)
    assert made.travel == pytest.approx(50 * 2 * 3 * move(distance, 200, 1000))
    assert made.total == pytest.approx(400 + 75 + 240)


def test_mass_and_filament() -> None:
    # V = 20000 mm^3, density 1.24, filament 1.75: 24.8 g and 8.315 m (vector mass_length of tests/validation).
    regions = layer_regions(cut(box_solid(20, 10, 100), 0.2), 3, 0.45, 5, 5)
    made = build_estimate(regions, Settings(infill=1.0), MACHINE)
    assert made.mass_g(1.24) == pytest.approx(24.8)
    assert made.filament_m == pytest.approx(8.315, abs=5e-4)


# What a suggestion takes from a model


def test_figures_of_a_box_in_three_orientations() -> None:
    figures = model_figures(box(30, 12, 60), [0.9, 1.35])
    assert figures.volume == pytest.approx(30 * 12 * 60)
    expected = {"flat": (12, 30, 60), "edge": (30, 12, 60), "upright": (60, 12, 30)}
    for name, (height, a, b) in expected.items():
        orientation = figures.orientations[name]
        assert orientation.height == pytest.approx(height)
        assert orientation.footprint == pytest.approx(a * b)
        assert orientation.outline_length == pytest.approx(2 * (a + b))
        volumes = orientation.volumes(np.array([0.9, 1.35]), np.array([[1.0], [1.6]]))
        for j, wall in enumerate((0.9, 1.35)):
            for i, closed in enumerate((1.0, 1.6)):
                inside = (a - 2 * wall) * (b - 2 * wall)
                assert volumes.core[i, j] == pytest.approx(inside * (height - 2 * closed), rel=2e-3)
                assert volumes.walls[i, j] == pytest.approx((a * b - inside) * height, rel=2e-3)
        whole = volumes.walls + volumes.closed + volumes.core
        assert whole == pytest.approx(np.full((2, 2), figures.volume), rel=1e-9)


def test_overlapping_bodies_count_once_in_the_figures() -> None:
    # Two boxes of 20 x 20 x 10 that share 8 x 15 x 7.
    figures = model_figures(read_model(MODELS / "flaw_overlapping_bodies.stl").mesh)
    assert figures.volume == pytest.approx(8000 - 8 * 15 * 7, rel=1e-6)
    hollow = model_figures(read_model(MODELS / "hollow_ball.stl").mesh)
    assert hollow.volume == pytest.approx(read_model(MODELS / "hollow_ball.stl").mesh.volume, rel=1e-9)


@pytest.mark.parametrize("name", ["wall_hook.stl", "shelf_bracket.stl", "drafted_cup.3mf", "soap_box.stl"])
def test_the_tables_agree_with_the_layers(name: str) -> None:
    mesh = read_model(MODELS / name).mesh
    flat = model_figures(mesh, [0.45, 0.9, 1.35, 1.8]).orientations["flat"]
    axis = int(np.argmax(np.abs(flat.up)))
    turn = {0: (0, -90, 0), 1: (90, 0, 0), 2: (0, 0, 0)}[axis]
    layers = cut(solid_of(mesh).rotate(turn), 0.2)
    for walls, closed in ((1, 3), (2, 4), (3, 6)):
        regions = layer_regions(layers, walls, 0.45, closed, closed)
        table = flat.volumes(walls * 0.45, closed * 0.2)
        # Coarser cuts and interpolation: 1.5 % of the part.
        assert float(table.core) == pytest.approx(regions.core_volume, abs=0.015 * mesh.volume)
        assert float(table.walls) == pytest.approx(regions.wall_volume, abs=0.015 * mesh.volume)


def test_sizes_that_disagree_with_the_model() -> None:
    mesh = box(80, 20, 6)
    assert disagreements({"length": 81, "width": 20.3, "thickness": 6}, mesh) == []
    assert disagreements({"root_radius": 2}, mesh) == []  # no overall size
    (short,) = disagreements({"section.width": 60}, mesh)
    assert short.severity is Severity.CAUTION
    (long,) = disagreements({"length": 800}, mesh)
    assert long.severity is Severity.PROBLEM
    assert "800 mm on the sheet" in long.summary
