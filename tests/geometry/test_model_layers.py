"""Layers against shapes whose sections are known."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
from geometry_shapes import box, box_solid, together, turned

from recommender.errors import InputError, ModelFileError
from recommender.geometry.crossing import winding_areas
from recommender.geometry.layers import cut, solid_of
from recommender.geometry.mesh import from_solid


def test_a_box_makes_equal_layers_and_the_last_is_cut_off() -> None:
    layers = cut(box_solid(10, 20, 3.1, (5, 5, 7)), 0.2)
    assert len(layers) == 16  # 15.5 layers
    assert layers.areas == pytest.approx(200)
    assert layers.volume == pytest.approx(620, rel=1e-12)
    assert layers.distinct.tolist() == [0]
    assert layers.z_of(0) == pytest.approx(7.1)
    assert layers.z_of(15) == pytest.approx(7 + 3.0 + 0.05)


def test_a_height_of_whole_layers_has_no_layer_too_many() -> None:
    assert 2.1 / 0.3 > 7  # by rounding
    assert len(cut(box_solid(5, 5, 2.1), 0.3)) == 7


def test_areas_of_a_cone_follow_the_square() -> None:
    # A(z) = n/2 sin(2 pi / n) r(z)^2 of the polygon with n sides, r = 10 (1 - z / 30)
    cone = manifold3d.Manifold.cylinder(30, 10, 0, 64)
    layers = cut(cone, 0.5)
    middle = (np.arange(60) + 0.5) * 0.5
    expected = 32 * np.sin(2 * np.pi / 64) * (10 * (1 - middle / 30)) ** 2
    # The section kernel rounds coordinates to 1e-8 mm; times 60 mm of outline: below 1e-6 mm^2.
    assert layers.areas == pytest.approx(expected, rel=1e-6, abs=1e-6)
    assert layers.volume == pytest.approx(cone.volume(), rel=1e-3)


def test_overlapping_bodies_count_once() -> None:
    both = together(box(10, 10, 10), box(10, 10, 10, (5, 0, 0)))
    layers = cut(solid_of(both), 1.0)
    assert layers.areas == pytest.approx(150)
    heights = np.array([layers.z_of(k) for k in range(10)])
    assert winding_areas(both, heights) == pytest.approx(200)


@pytest.mark.parametrize("tilt", [(0, 0, 0), (31, 0, 12), (90, 45, 3)])
def test_winding_area_of_a_sound_part_is_the_area_of_its_section(tilt: tuple[float, float, float]) -> None:
    solid = (box_solid(20, 9, 11) - manifold3d.Manifold.cylinder(50, 3, 3, 24).translate((9, 4, -10))).rotate(
        tilt
    )
    layers = cut(solid, 0.37)
    heights = np.array([layers.z_of(k) for k in range(len(layers))])
    # 1e-8 mm of rounding in the section kernel times some 60 mm of outline
    assert winding_areas(from_solid(solid), heights) == pytest.approx(layers.areas, abs=1e-6)


def test_what_has_no_inside_is_refused() -> None:
    with pytest.raises(ModelFileError, match="no clear inside"):
        solid_of(turned(box(1, 2, 3)))


@pytest.mark.parametrize("height", [0.0, -0.2, float("nan"), float("inf"), 1e-5])
def test_impossible_layer_heights(height: float) -> None:
    with pytest.raises(InputError, match="--layer-height"):
        cut(box_solid(10, 10, 10), height)
