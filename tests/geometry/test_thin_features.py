"""Thin features and gaps: each step of the calibration plate falls on its right side of the limit."""

from __future__ import annotations

from pathlib import Path

import manifold3d
import pytest
from geometry_shapes import box_solid
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from recommender.errors import InputError
from recommender.geometry.layers import cut, solid_of
from recommender.geometry.reading import read_model
from recommender.geometry.thin_features import Kind, thin_features, thin_findings

MODELS = Path(__file__).resolve().parents[2] / "datasets" / "models"
STEPS = [0.25, 0.30, 0.35, 0.40, 0.45, 0.50, 0.55, 0.60, 0.65]


def plate_of_bars(line_width: float) -> dict[Kind, list[float]]:
    """Widths of the calibration plate that were found too small, by kind."""
    layers = cut(solid_of(read_model(MODELS / "calibration_plate.stl").mesh), 0.2)
    thin = thin_features(layers, line_width)
    return {kind: sorted(spot.width for spot in thin.of(kind)) for kind in Kind}


@pytest.mark.parametrize("line_width", [0.30, 0.40, 0.45, 0.50, 0.60])
def test_every_step_of_the_plate_is_on_the_right_side(line_width: float) -> None:
    # Bars and slots are drawn at STEPS; a width equal to the line prints.
    found = plate_of_bars(line_width)
    narrower = [step for step in STEPS if step < line_width - 1e-9]
    between = [step for step in STEPS if line_width - 1e-9 <= step < 2 * line_width - 1e-9]
    assert found[Kind.VANISHES] == pytest.approx(narrower, abs=0.005)
    assert found[Kind.CLOSES] == pytest.approx(narrower, abs=0.005)
    assert found[Kind.ONE_LINE] == pytest.approx(between, abs=0.005)


def test_spots_know_their_layers_and_place() -> None:
    layers = cut(solid_of(read_model(MODELS / "calibration_plate.stl").mesh), 0.2)
    spot = thin_features(layers, 0.45).of(Kind.VANISHES)[0]  # the bar of 0.40 at x = 22 from z = 1 to 3
    assert (spot.first_layer, spot.last_layer) == (5, 14)
    assert spot.place[0] == pytest.approx(22, abs=0.01)
    assert spot.length == pytest.approx(14, abs=0.02)
    assert spot.area == pytest.approx(0.4 * 14, rel=0.01)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.1, 1.2), st.floats(0, 90), st.floats(0.2, 0.8))
def test_a_bar_is_judged_alike_in_every_direction(width: float, turn: float, line: float) -> None:
    assume(min(abs(width - line), abs(width - 2 * line)) > 0.006)
    layers = cut(box_solid(12, width, 1).rotate((0, 0, turn)), 0.5)
    kinds = {spot.kind for spot in thin_features(layers, line).spots}
    expected = {Kind.VANISHES} if width < line else {Kind.ONE_LINE} if width < 2 * line else set()
    assert kinds == expected


def test_square_corners_holes_and_rounds_are_not_thin() -> None:
    part = box_solid(20, 20, 2) - manifold3d.Manifold.cylinder(4, 4, 4, 90).translate((10, 10, -1))
    part = part + manifold3d.Manifold.cylinder(2, 5, 5, 40).translate((0, 0, 0))
    assert thin_features(cut(part, 0.2), 0.45).spots == ()


def test_a_neck_between_thick_ends_is_found_where_it_is() -> None:
    part = box_solid(10, 10, 1) + box_solid(10, 10, 1, (13, 0, 0)) + box_solid(3, 0.3, 1, (10, 4.85, 0))
    spots = thin_features(cut(part, 0.2), 0.45).spots
    assert [spot.kind for spot in spots] == [Kind.VANISHES]
    assert spots[0].place[0] == pytest.approx(11.5, abs=1.6)
    assert spots[0].width == pytest.approx(0.3, abs=0.005)


def test_the_remedies_are_the_arithmetic() -> None:
    layers = cut(box_solid(12, 0.30, 1), 0.2)
    (finding,) = thin_findings(thin_features(layers, 0.45), 0.4)
    # 0.45 - 0.30 = 0.15 thicker or 0.45 / 0.30 = 1.5 larger; 0.30 / 0.9 = 0.33, so the 0.3 nozzle lays 0.30.
    assert "thicken by 0.15 mm" in finding.remedy
    assert "scale by 1.50" in finding.remedy
    assert "nozzle of 0.3 mm" in finding.remedy


@pytest.mark.parametrize("width", [0.0, -1.0, float("nan"), 50.0])
def test_impossible_line_widths(width: float) -> None:
    with pytest.raises(InputError, match="--line-width"):
        thin_features(cut(box_solid(5, 5, 1), 0.2), width)
