"""Orientations against shapes whose overhangs, supports and feet are known by hand."""

from __future__ import annotations

import math

import manifold3d
import numpy as np
import pytest
from geometry_shapes import box_solid
from hypothesis import example, given, settings
from hypothesis import strategies as st

from recommender.errors import InputError
from recommender.geometry.layers import cut
from recommender.geometry.lie import (
    ACROSS_LAYERS,
    WEAK_SHARE,
    Bed,
    bed_fit,
    rank,
    strength_share,
    support_volume,
    tipping_angle,
)
from recommender.geometry.mesh import from_solid
from recommender.geometry.orientation import directions_to_try, evaluate, rotation_to_up

AXES = np.concatenate([np.eye(3), -np.eye(3)])


def table() -> manifold3d.Manifold:
    """A plate of 20 x 30 x 2 on a leg of 4 x 6 x 10."""
    return box_solid(4, 6, 10, (8, 12, 0)) + box_solid(20, 30, 2, (0, 0, 10))


def test_a_table_by_hand() -> None:
    up = evaluate(from_solid(table()), AXES[[2, 5]])
    # Up: the underside less the leg, 600 - 24, hangs 10 mm above the bed; the leg stands on 24 mm^2.
    assert up.overhang_area[0] == pytest.approx(576, rel=1e-3)
    assert up.support_volume[0] == pytest.approx(5760, rel=1e-3)
    assert up.contact_area[0] == pytest.approx(24, rel=1e-3)
    assert up.height[0] == pytest.approx(12, rel=1e-3)
    # Upside down nothing hangs and the plate lies on the bed.
    assert up.overhang_area[1] == pytest.approx(0, abs=1e-9)
    assert up.contact_area[1] == pytest.approx(600, rel=1e-3)


def test_on_its_side_the_table_hangs_over_by_hand() -> None:
    # Up is +x: the leg (x from 8 to 12, 6 x 10 of underside) hangs 8 mm above the bed.
    side = evaluate(from_solid(table()), AXES[[0]])
    assert side.overhang_area[0] == pytest.approx(60, rel=1e-3)
    assert side.support_volume[0] == pytest.approx(480, rel=1e-3)
    assert side.contact_area[0] == pytest.approx(60, rel=1e-3)  # the edge of the plate, 30 x 2


def test_support_by_layers_stands_on_the_part() -> None:
    # A shelf of 10 x 10 at z 12 to 14 over a foot of 10 x 10 x 2, both on a wall 2 thick: the air between
    # z = 2 and 12 is 10 x 10 x 10 and the support stands on the foot.
    part = box_solid(2, 10, 14) + box_solid(12, 10, 2) + box_solid(12, 10, 2, (0, 0, 12))
    assert support_volume(cut(part, 0.2)) == pytest.approx(1000, rel=0.02)
    table_down_to_bed = evaluate(from_solid(part), AXES[[2]]).support_volume[0]
    assert table_down_to_bed == pytest.approx(1200, rel=1e-3)  # columns to the bed cross the foot


@pytest.mark.parametrize(("lean", "needs"), [(40.0, False), (44.0, False), (46.0, True), (60.0, True)])
def test_a_wall_that_leans_out_needs_support_beyond_45_degrees(lean: float, needs: bool) -> None:
    shift = 20 * math.tan(math.radians(lean))
    leaning = manifold3d.Manifold.hull(box_solid(30, 10, 0.01) + box_solid(30, 10, 0.01, (shift, 0, 20)))
    figures = evaluate(from_solid(leaning), AXES[[2]])
    slope = 10 * math.hypot(20, shift)
    assert figures.overhang_area[0] == pytest.approx(slope if needs else 0.0, rel=1e-3, abs=1e-6)


def test_a_sphere_hangs_over_below_45_degrees() -> None:
    # Cap of half angle 45 degrees, 2 pi r^2 (1 - cos 45), less the 0.1 mm that counts as lying on the bed,
    # 2 pi r 0.1; facets count whole, so within a fraction of a ring of 2048: 0.1 %.
    ball = from_solid(manifold3d.Manifold.sphere(10, 2048))
    figures = evaluate(ball, AXES)
    cap = 2 * math.pi * 10 * (10 * (1 - math.sqrt(0.5)) - 0.1)
    assert figures.overhang_area == pytest.approx(cap, rel=1e-3)


def test_tipping_by_hand() -> None:
    # A column of 6 x 10 x 40: the nearest edge is 3 mm from the middle, the centre of mass 20 mm up.
    column = box_solid(6, 10, 40)
    angle = tipping_angle(cut(column, 0.5), np.array([3, 5, 20]))
    assert angle == pytest.approx(math.degrees(math.atan2(3, 20)), abs=1e-6)
    assert tipping_angle(cut(column, 0.5), np.array([9, 5, 20])) == 0.0


def test_bed_fit_turns_and_scales() -> None:
    long = cut(box_solid(280, 10, 5), 1.0)
    turn, scale = bed_fit(long, Bed(220, 220, 250))
    assert turn == pytest.approx(45, abs=1)
    # Turned by 45 degrees its box is (280 + 10) / sqrt 2 wide.
    assert scale == pytest.approx(220 * math.sqrt(2) / 290, rel=1e-3)
    turn, scale = bed_fit(cut(box_solid(400, 10, 5), 1.0), Bed(220, 220, 250))
    assert turn is None
    assert scale == pytest.approx(220 * math.sqrt(2) / 410, rel=1e-3)
    turn, scale = bed_fit(cut(box_solid(10, 10, 500), 5.0), Bed(220, 220, 250))
    assert (turn, scale) == (None, pytest.approx(0.5))


def test_at_least_two_hundred_directions_all_of_length_one_and_spread() -> None:
    mesh = from_solid(table())
    directions = directions_to_try(mesh, 240)
    assert directions.shape == (240, 3)
    assert np.linalg.norm(directions, axis=1) == pytest.approx(1)
    nearest = (AXES @ directions.T).max(axis=1)
    assert nearest == pytest.approx(1)  # every axis is among them
    random = np.random.default_rng(1).normal(size=(500, 3))
    random /= np.linalg.norm(random, axis=1)[:, None]
    assert np.degrees(np.arccos((random @ directions.T).max(axis=1))).max() < 13  # no large gap on the sphere
    with pytest.raises(InputError, match="--orientations"):
        directions_to_try(mesh, 100)


@settings(max_examples=40, deadline=None)
@example((0.0, 1e-6, -1.0))
@example((0.0, 0.0, -1.0))
@given(st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 0.1))
def test_the_rotation_turns_a_direction_up(direction: tuple[float, float, float]) -> None:
    rotation = rotation_to_up(direction)
    assert rotation @ (np.array(direction) / np.linalg.norm(direction)) == pytest.approx([0, 0, 1], abs=1e-9)
    assert rotation @ rotation.T == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(rotation) == pytest.approx(1)


def test_strength_share_runs_from_along_to_across() -> None:
    up = np.array([[0, 0, 1.0], [1, 0, 0], [math.sqrt(0.5), 0, math.sqrt(0.5)]])
    share = strength_share(up, np.array([0, 0, 5.0]))
    assert share[0] == pytest.approx(ACROSS_LAYERS)
    assert share[1] == pytest.approx(1.0)
    assert ACROSS_LAYERS < share[2] < 1.0


def test_the_best_lie_of_a_table_is_upside_down_and_a_load_changes_it() -> None:
    solid = table()
    mesh = from_solid(solid)
    best = rank(mesh, solid, 0.2)[0]
    assert best.direction == pytest.approx((0, 0, -1))
    assert best.support_volume == pytest.approx(0, abs=1e-6)
    assert "needs no support" in best.reasons
    pulled = rank(mesh, solid, 0.2, load=np.array([0, 0, 1.0]))[0]
    assert pulled.strength_share is not None
    assert pulled.strength_share >= WEAK_SHARE  # not with the layers across the pull


def test_the_layers_agree_with_the_columns_where_nothing_is_below() -> None:
    assert support_volume(cut(table(), 0.2)) == pytest.approx(5760, rel=0.02)
