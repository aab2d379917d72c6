"""Other sizes: what scales by a law, what does not, and the files."""

from __future__ import annotations

import math
from pathlib import Path

import manifold3d
import numpy as np
import pytest
from geometry_shapes import box, box_solid
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.errors import InputError
from recommender.geometry.build_estimate import Machine, Settings
from recommender.geometry.holes import find_holes, hardware_for
from recommender.geometry.lie import Bed
from recommender.geometry.mesh import from_solid
from recommender.geometry.reading import read_model
from recommender.geometry.resizing import (
    Resized,
    SizeCompensation,
    compensation_from,
    drawn_factors,
    factors_for,
    family,
    hole_notes,
    load_by_law,
    scaled_mesh,
    sizes_asked,
)

MODELS = Path(__file__).resolve().parents[2] / "datasets" / "models"
SOLID = Settings(0.2, 0.45, 3, 4, 4, 1.0)


def resized(name_or_mesh: object, *factors: float, settings_: Settings = SOLID) -> list[Resized]:
    mesh = read_model(MODELS / name_or_mesh).mesh if isinstance(name_or_mesh, str) else name_or_mesh
    return family(mesh, [(f"x{f:g}", (f, f, f)) for f in factors], settings_, Machine())


def test_a_solid_bar_follows_the_law() -> None:
    # Filled with infill of 100 % the walls no longer matter: bending strength goes with f^3 / f = f^2.
    for size, factor in zip(resized(box(60, 12, 8), 0.5, 1.5, 2.0), (0.5, 1.5, 2.0), strict=True):
        assert size.law_load_factor == pytest.approx(factor**2)
        assert size.load_factor == pytest.approx(factor**2, rel=1e-6)
        assert size.volume == pytest.approx(60 * 12 * 8 * factor**3, rel=1e-6)


def test_walls_that_do_not_scale_lose_share() -> None:
    # With 10 % infill the shell is a smaller share of a larger part, so strength grows slower than the law.
    hollow = Settings(0.2, 0.45, 2, 3, 3, 0.1)
    half, double = resized(box(80, 16, 10), 0.5, 2.0, settings_=hollow)
    assert double.load_factor is not None and half.load_factor is not None
    assert double.load_factor < 0.9 * double.law_load_factor
    assert half.load_factor > 1.1 * half.law_load_factor


@given(st.tuples(*[st.floats(0.2, 5)] * 3))
def test_the_law_on_three_axes(factors: tuple[float, float, float]) -> None:
    # 60 long (x), 12 wide (y), 8 shallow (z): b h^2 / L.
    assert load_by_law(factors, np.array([60.0, 12, 8])) == pytest.approx(
        factors[1] * factors[2] ** 2 / factors[0]
    )


def test_small_spots_come_and_go_with_the_scale() -> None:
    # Bars and slots of 0.25 to 0.65: at 2 all reach 0.45 and print; at 1 four of each do not.
    one, two = resized("calibration_plate.stl", 1.0, 2.0)
    assert (one.vanishing, one.closing) == (4, 4)
    assert (two.vanishing, two.closing) == (0, 0)
    assert two.prints
    assert not one.prints


def test_holes_are_found_with_their_axis_and_size() -> None:
    solid = manifold3d.Manifold.cube((40, 30, 8)) - manifold3d.Manifold.cylinder(20, 2.7, 2.7, 64).translate(
        (10, 12, -5)
    )
    solid -= manifold3d.Manifold.cylinder(60, 1.65, 1.65, 64).rotate((0, 90, 0)).translate((-5, 25, 4))
    holes = {hole.axis: hole for hole in find_holes(solid)}
    assert set(holes) == {"x", "z"}
    assert holes["z"].diameter == pytest.approx(5.4, abs=0.06)
    assert holes["z"].centre == pytest.approx((10, 12), abs=0.06)
    assert holes["x"].centre == pytest.approx((25, 4), abs=0.06)
    assert hardware_for(holes["z"].diameter) == "clears M5"
    assert hardware_for(holes["x"].diameter) == "taps M4"
    assert hardware_for(7.6) == ""


def test_a_slot_is_no_round_hole() -> None:
    slot = manifold3d.CrossSection.circle(2, 64).translate((6, 5)) + manifold3d.CrossSection.square(
        (8, 4)
    ).translate((6, 3))
    assert find_holes(box_solid(30, 10, 5) - slot.extrude(20).translate((0, 0, -5))) == []


def test_notes_on_holes() -> None:
    solid = manifold3d.Manifold.cube((40, 30, 8)) - manifold3d.Manifold.cylinder(20, 2.7, 2.7, 64).translate(
        (10, 12, -5)
    )
    holes = find_holes(solid)
    assert hole_notes(holes, (1, 1, 1)) == []
    (bigger,) = hole_notes(holes, (1.2, 1.2, 1.2))
    assert "becomes 6.48 mm" in bigger
    assert "clears M5 no longer, clears M6 now" in bigger
    (oval,) = hole_notes(holes, (1.2, 1.0, 1.0))
    assert "turn oval, 6.48 x 5.4 mm" in oval
    (shrunk,) = hole_notes(holes, (1.2, 1.2, 1.2), SizeCompensation(hole_offset=-0.2))
    assert "prints 6.28 mm" in shrunk


def test_compensation_as_in_the_vector() -> None:
    # vector scale_offset of tests/validation: scale 0.99525, offset 0.025: draw 50.214 to measure 50.
    learned = SizeCompensation((0.99525, 1, 1), (0.025, 0, 0))
    drawn = drawn_factors((1, 1, 1), np.array([50.0, 20, 10]), learned)
    assert drawn[0] * 50 == pytest.approx(50.214, abs=5e-4)
    assert drawn[1:] == (1, 1)


def test_compensation_from_a_straight_line_of_deviations() -> None:
    # Outside sizes come out 0.4 % small and 0.05 mm wide along x; holes 0.2 mm small.
    def deviation(kind: str, nominal: float, axis: str) -> float:
        if kind == "hole":
            return -0.2
        return -0.004 * nominal + 0.05 if axis == "x" else 0.0

    learned = compensation_from(deviation, "a test")
    assert learned.scale == pytest.approx((0.996, 1, 1))
    assert learned.outer_offset == pytest.approx((0.05, 0, 0))
    assert learned.hole_offset == -0.2
    drawn = drawn_factors((2, 1, 1), np.array([30.0, 20, 10]), learned)[0] * 30
    assert drawn + deviation("outside", drawn, "x") == pytest.approx(60, abs=1e-9)  # prints as asked


def test_scaled_mesh_stands_where_it_stood() -> None:
    mesh = from_solid(box_solid(10, 20, 30, (5, 5, 2)))
    (size,) = family(mesh, [("b", (2.0, 1.0, 0.5))], SOLID, Machine())
    scaled = scaled_mesh(mesh, size)
    assert scaled.bounds.tolist() == [[0, 5, 2], [20, 25, 17]]
    assert size.extents == pytest.approx((20, 20, 15))


@settings(max_examples=25, deadline=None)
@given(st.floats(0.3, 3))
def test_volume_goes_with_the_cube(factor: float) -> None:
    mesh = box(10, 12, 6)
    scaled = mesh.scaled(factor)
    assert scaled.volume == pytest.approx(mesh.volume * factor**3, rel=1e-9)
    assert scaled.surface_area == pytest.approx(mesh.surface_area * factor**2, rel=1e-9)


def test_sizes_that_outgrow_the_bed_say_so() -> None:
    small, large = family(
        box(100, 30, 10), [("1", (1.0,) * 3), ("3", (3.0,) * 3)], SOLID, Machine(), bed=Bed(120, 220, 200)
    )
    assert small.notes == ()
    assert large.notes == ("does not fit the bed of 120 x 220 x 200 mm as it lies",)


def test_what_the_user_may_ask() -> None:
    assert sizes_asked(14, "18", None, "xyz") == [("18", (18 / 14,) * 3)]
    assert sizes_asked(None, None, "1.2, 2", "xy") == [("x1.2", (1.2, 1.2, 1.0)), ("x2", (2.0, 2.0, 1.0))]
    assert [label for label, _ in sizes_asked(14, "10,12,14,18,22", None, "xyz")] == [
        "10",
        "12",
        "14",
        "18",
        "22",
    ]


@pytest.mark.parametrize(
    "asked",
    [
        (None, None, None, "xyz"), (14.0, None, None, "xyz"), (14.0, "18", "1.2", "xyz"), (0.0, "18", None, "xyz"),
        (14.0, "big", None, "xyz"), (None, None, "0", "xyz"), (None, None, "1.2", "w"), (math.nan, "18", None, "x"),
        (None, None, "nan", "xyz"),
    ],
)  # fmt: skip
def test_what_the_user_may_not_ask(asked: tuple[float | None, str | None, str | None, str]) -> None:
    with pytest.raises(InputError):
        sizes_asked(*asked)


def test_factors_and_compensation_have_bounds() -> None:
    with pytest.raises(InputError, match="--factor"):
        factors_for(1000, "xyz")
    with pytest.raises(InputError, match="--compensate"):
        SizeCompensation((2.0, 1, 1))
    with pytest.raises(InputError, match="--to"):
        family(box(1, 1, 1), [], SOLID, Machine())
