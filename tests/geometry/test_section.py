"""Composite sections against closed forms, series and finite elements."""

from __future__ import annotations

import math

import manifold3d
import numpy as np
import pytest
from geometry_shapes import box_solid
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.errors import InputError
from recommender.geometry.section import (
    CompositeSection,
    Stiffness,
    composite_section,
    core_of,
    polygon_moments,
    torsion,
)
from recommender.geometry.weakest_section import Force, Shell, Strengths, cut_across, lever

Outline = manifold3d.CrossSection
SOLID = Stiffness(2500, 0, 900, 0)
UP = np.array([0.0, 0.0, 1.0])


def rectangle(width: float, height: float, at: tuple[float, float] = (0, 0)) -> Outline:
    return Outline.square((width, height)).translate(at)


def rectangle_constant(a: float, b: float) -> float:
    """Torsion constant of a rectangle by Saint-Venant's series (Timoshenko and Goodier, art. 109)."""
    long, short = max(a, b), min(a, b)
    series = sum(math.tanh(n * math.pi * long / (2 * short)) / n**5 for n in range(1, 200, 2))
    return long * short**3 * (1 / 3 - 64 / math.pi**5 * short / long * series)


def test_moments_of_a_triangle_by_hand() -> None:
    # (0,0) (6,0) (0,3): A = 9, centroid (2, 1); integrals x^2 = b^3 h/12, y^2 = b h^3/12, xy = b^2 h^2/24.
    moments = polygon_moments([np.array([[0.0, 0], [6, 0], [0, 3]])])
    expected = (9, 18, 9, 6**3 * 3 / 12, 6 * 27 / 12, 36 * 9 / 24)
    values = (
        moments.area,
        moments.first_x,
        moments.first_y,
        moments.second_xx,
        moments.second_yy,
        moments.second_xy,
    )
    assert values == pytest.approx(expected, rel=1e-12)


def test_a_box_beam_with_core_as_in_the_vector() -> None:
    # comp_rect_1: b 20, h 10, walls 1.2, top and bottom 1.0, E 2500 and 125: EA 1.656e5, EI 2.3832e6.
    core = rectangle(17.6, 8, (1.2, 1))
    section = composite_section(rectangle(20, 10), core, Stiffness(2500, 125, 900, 45))
    assert section.axial_rigidity == pytest.approx(1.656e5, rel=5e-5)
    assert section.flexural_xx == pytest.approx(2.3832e6, rel=5e-5)
    assert section.centre == pytest.approx((10, 5))
    assert section.flexural_xy == pytest.approx(0, abs=1e-6)


def test_an_angle_has_a_product_of_inertia() -> None:
    # Angle 30 x 20 x 4 by hand: A = 80 + 4 * 26 = 184 with legs 4 x 20 (x 0..4) and 26 x 4 (x 4..30).
    angle = rectangle(4, 20) + rectangle(26, 4, (4, 0))
    section = composite_section(angle, Outline(), Stiffness(1, 0, 1, 0))
    x = (80 * 2 + 104 * 17) / 184
    y = (80 * 10 + 104 * 2) / 184
    assert section.centre == pytest.approx((x, y))
    xy = 80 * (2 - x) * (10 - y) + 104 * (17 - x) * (2 - y)
    assert section.flexural_xy == pytest.approx(xy, rel=1e-9)
    yy = 26**3 * 4 / 12 + 104 * (17 - x) ** 2 + 20 * 4**3 / 12 + 80 * (2 - x) ** 2
    assert section.flexural_yy == pytest.approx(yy, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.floats(0, 360), st.floats(-40, 40), st.floats(-40, 40))
def test_turning_and_moving_a_section_keeps_its_invariants(turn: float, dx: float, dy: float) -> None:
    outline = rectangle(4, 20) + rectangle(26, 4, (4, 0))

    def invariants(section: CompositeSection) -> tuple[float, float, float]:
        trace = section.flexural_xx + section.flexural_yy
        return (
            section.axial_rigidity,
            trace,
            section.flexural_xx * section.flexural_yy - section.flexural_xy**2,
        )

    first = invariants(composite_section(outline, Outline(), SOLID))
    moved = outline.rotate(turn).translate((dx, dy))
    assert invariants(composite_section(moved, Outline(), SOLID)) == pytest.approx(first, rel=1e-6)


@pytest.mark.parametrize(("a", "b"), [(10, 10), (20, 10), (7, 23), (60, 3), (100, 2)])
def test_torsion_of_rectangles_within_a_thousandth_of_the_series(a: float, b: float) -> None:
    found = torsion(composite_section(rectangle(a, b), Outline(), Stiffness(1, 0, 1, 0)))
    assert found.rigidity == pytest.approx(rectangle_constant(a, b), rel=1e-3)


def test_torsion_of_round_sections() -> None:
    # Exact: G pi (R^4 - r^4) / 2 and the sum over skin and core. Cells cut at the rim: 0.3 %.
    rod, bore = Outline.circle(10, 512), Outline.circle(8, 512)
    unit = Stiffness(1, 0, 1, 0)
    solid = torsion(composite_section(rod, Outline(), unit)).rigidity
    assert solid == pytest.approx(math.pi * 1e4 / 2, rel=2e-3)
    tube = torsion(composite_section(rod - bore, Outline(), unit)).rigidity
    assert tube == pytest.approx(math.pi * (1e4 - 4096) / 2, rel=3e-3)
    filled = torsion(composite_section(rod, bore, Stiffness(2500, 250, 900, 90))).rigidity
    assert filled == pytest.approx(math.pi * (900 * (1e4 - 4096) + 90 * 4096) / 2, rel=3e-3)
    # Shear strain per twist is the radius; the 99th percentile of it lies just below the rim.
    assert torsion(composite_section(rod, Outline(), unit)).high_shear_per_twist == pytest.approx(
        10, rel=0.02
    )


# GJ in N mm^2 from a finite-element solution of the warping problem with scikit-fem 12.0.2, quadratic
# elements; b, h, wall, top and bottom in mm, G_skin 900 MPa, G_core / G_skin; four figures are given.
FINITE_ELEMENTS = [
    (20, 10, 1.2, 1.0, 0.0001, 2.039e6), (20, 10, 1.2, 1.0, 0.1, 2.284e6), (20, 10, 1.2, 1.0, 0.3, 2.717e6),
    (20, 20, 0.8, 0.8, 0.0001, 5.203e6), (20, 20, 0.8, 0.8, 0.1, 6.879e6), (20, 20, 0.8, 0.8, 0.3, 9.95e6),
    (30, 8, 1.6, 0.8, 0.0001, 1.951e6), (30, 8, 1.6, 0.8, 0.1, 2.157e6), (30, 8, 1.6, 0.8, 0.3, 2.542e6),
    (20, 10, 2.4, 2.0, 0.02, 3.265e6), (20, 10, 2.4, 2.0, 0.3, 3.545e6),
]  # fmt: skip


@pytest.mark.parametrize(("b", "h", "wall", "top", "ratio", "expected"), FINITE_ELEMENTS)
def test_torsion_of_boxes_with_core_against_finite_elements(
    b: float, h: float, wall: float, top: float, ratio: float, expected: float
) -> None:
    core = rectangle(b - 2 * wall, h - 2 * top, (wall, top))
    section = composite_section(rectangle(b, h), core, Stiffness(2500, 0, 900, 900 * ratio))
    assert torsion(section).rigidity == pytest.approx(expected, rel=2e-3)


def test_two_separate_bars_twist_together() -> None:
    pair = rectangle(10, 10) + rectangle(10, 10, (50, 0))
    found = torsion(composite_section(pair, Outline(), Stiffness(1, 0, 1, 0))).rigidity
    assert found == pytest.approx(2 * rectangle_constant(10, 10), rel=2e-3)


# Skin and core by the way the part was printed


@pytest.mark.parametrize(
    ("up", "expected"),
    [
        ((0, 0, 1), (30 - 2.7) * (12 - 2.7)),  # cut level: walls of 1.35 all round
        ((0, 1, 0), (30 - 2.7) * (12 - 1.6)),  # cut upright: closed layers of 0.8 above and below
        ((0, -1, 0), (30 - 2.7) * (12 - 1.6)),
        ((1, 0, 0), (30 - 1.6) * (12 - 2.7)),
    ],
)
def test_core_of_a_rectangle(up: tuple[float, float, float], expected: float) -> None:
    core = core_of(rectangle(30, 12), 1.35, 0.8, np.array(up, dtype=float))
    assert core.area() == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    ("walls", "closed", "expected"), [(0.0, 0.8, 30 * (12 - 1.6)), (1.35, 0.0, (30 - 2.7) * 12), (0, 0, 360)]
)
def test_core_without_walls_or_without_closed_layers(walls: float, closed: float, expected: float) -> None:
    # A border of no thickness counts as 0.01 mm.
    core = core_of(rectangle(30, 12), walls, closed, np.array([0.0, 1.0, 0.0]))
    assert core.area() == pytest.approx(expected, rel=2e-3)


def test_core_of_a_slanting_cut() -> None:
    # A bar that rises 60 degrees: its upper and lower face lean. From such a face walls reach 1.8 cos 30 =
    # 1.559 mm deep, closed layers 0.8 sin 30 = 0.4: the walls count. From the sides they reach 1.8.
    up = np.array([0.0, 0.5, math.sqrt(0.75)])
    core = core_of(rectangle(30, 12), 1.8, 0.8, up)
    assert core.area() == pytest.approx((30 - 3.6) * (12 - 2 * 1.8 * math.sqrt(0.75)), rel=1e-4)
    # Nearly lying, the closed layers count: 2.4 sin 75 against 1.2 cos 75.
    up = np.array([0.0, math.sin(math.radians(75)), math.cos(math.radians(75))])
    core = core_of(rectangle(30, 12), 1.2, 2.4, up)
    assert core.area() == pytest.approx((30 - 2.4) * (12 - 4.8 * math.sin(math.radians(75))), rel=1e-4)


def test_core_may_vanish_or_split() -> None:
    assert core_of(rectangle(30, 2), 1.35, 0.8, UP).is_empty()
    dumb_bell = rectangle(10, 10) + rectangle(10, 10, (20, 0)) + rectangle(12, 2, (9, 4))
    core = core_of(dumb_bell, 1.35, 1.35, UP)
    assert len(core.decompose()) == 2
    section = composite_section(dumb_bell, core, Stiffness(2000, 200, 700, 70))
    # Two squares inset by 1.35, and a little more where the neck opens (0.6 mm^2 by the arcs there).
    assert section.core_area == pytest.approx(2 * 7.3**2, rel=1e-2)
    assert section.core_area > 2 * 7.3**2


# The weakest section of a lever

STRENGTHS = Strengths(along=50, across=25, between=20, within=30, core_share=0.2)
NO_CORE = Shell(100.0, 100.0)


def test_a_straight_bar_breaks_at_its_root_by_hand() -> None:
    # 100 x 10 x 8 along x, 20 N down at the end: M = 20 * 100 at the root, sigma = 6 M / (b h^2).
    bar = box_solid(100, 10, 8)
    force = Force((0, 0, -20.0), (100.0, 5.0, 4.0))
    found = lever(bar, np.array([1.0, 0, 0]), force, NO_CORE, SOLID, STRENGTHS, UP)
    weakest = found.weakest
    assert weakest.position == pytest.approx(0.5)  # the first station
    stress = 6 * 20 * 99.5 / (10 * 64)
    assert weakest.stress == pytest.approx(stress, rel=1e-6)
    assert weakest.load_at_failure == pytest.approx(20 * 50 / stress, rel=1e-6)
    assert weakest.limit_state == "the skin tears"
    # F L^3 / (3 E I); the integral leaves out half a per cent at each end and runs over 60 stations: 2 %.
    assert found.deflection == pytest.approx(20 * 100**3 / (3 * 2500 * 10 * 512 / 12), rel=0.02)


def test_upright_the_layers_part() -> None:
    bar = box_solid(100, 10, 8)
    force = Force((0, 0, -20.0), (100.0, 5.0, 4.0))
    found = lever(bar, np.array([1.0, 0, 0]), force, NO_CORE, SOLID, STRENGTHS, np.array([1.0, 0, 0]))
    assert found.weakest.limit_state == "layers part"
    stress = 6 * 20 * 99.5 / (10 * 64)
    assert found.weakest.load_at_failure == pytest.approx(20 * 25 / stress, rel=1e-6)


def test_a_waist_is_the_weakest_place() -> None:
    bar = box_solid(100, 10, 8) - box_solid(6, 20, 4, (57, -1, 5))  # 5 mm left of 8 from x = 57 to 63
    force = Force((0, 0, -20.0), (100.0, 5.0, 4.0))
    found = lever(bar, np.array([1.0, 0, 0]), force, NO_CORE, SOLID, STRENGTHS, UP)
    # Root: 6 * 20 * 100 / 640 = 18.75; waist: 6 * 20 * 43 / 250 = 20.6.
    assert 57 < found.weakest.position < 63


def test_an_offset_force_twists() -> None:
    # 30 N at 40 mm beside the axis: torque 1200 N mm in a 12 x 12 bar; tau = T / (0.208 a^3) (Roark 10.1).
    bar = box_solid(80, 12, 12)
    force = Force((0, 0, -30.0), (79.0, 6.0 + 40.0, 6.0))
    found = lever(bar, np.array([1.0, 0, 0]), force, NO_CORE, SOLID, STRENGTHS, UP, stations=3)
    direct = 1.5 * 30 / 144
    # 99 % of the cells stay below the peak at the middle of the sides: 5 % under it at most.
    assert found.stations[0].shear == pytest.approx(direct + 1200 / (0.208 * 12**3), rel=0.05)


def test_a_cut_outside_the_part_says_where_it_reaches() -> None:
    with pytest.raises(InputError, match="0 to 100 mm"):
        cut_across(box_solid(100, 10, 8), np.array([1.0, 0, 0]), 120, NO_CORE, SOLID, UP)


def test_infinite_modulus_is_refused() -> None:
    with pytest.raises(InputError):
        Stiffness(float("nan"), 0, 1, 0)


# EA (N), centroid (mm), EIxx, EIyy, EIxy and GJ (N mm^2) from the finite-element section library
# sectionproperties 3.10.2 (mesh size 0.05 mm^2), E 2000 and 300 MPa, nu 0.35, core 1.2 mm inside with mitred
# corners; GJ is its modulus-weighted torsion constant over 2 (1 + nu). Computed apart from this project's
# environment; seven figures are kept.
LIBRARY = {
    "angle": (
        [(0, 0), (30, 0), (30, 6), (6, 6), (6, 20), (0, 20)],
        (2.734080e5, 11.386938, 6.386938, 9.270717e6, 2.497388e7, -7.766439e6, 1.777517e6),
    ),
    "tee": (
        [(0, 0), (24, 0), (24, 6), (15, 6), (15, 22), (8, 22), (8, 6), (0, 6)],
        (2.546880e5, 11.805880, 7.860158, 1.190213e7, 9.393536e6, -3.786258e5, 1.986881e6),
    ),
    "wedge": (
        [(0, 0), (28, 0), (20, 14), (3, 9)],
        (2.141873e5, 13.883738, 5.256352, 3.887037e6, 1.267816e7, 3.041885e5, 3.390601e6),
    ),
}


@pytest.mark.parametrize("name", LIBRARY)
def test_sections_against_a_finite_element_library(name: str) -> None:
    corners, (*exact, rigidity) = LIBRARY[name]
    outline = Outline([np.array(corners, dtype=float)])
    core = outline.offset(-1.2, manifold3d.JoinType.Miter, 10.0)
    section = composite_section(outline, core, Stiffness(2000, 300, 2000 / 2.7, 300 / 2.7))
    found = (
        section.axial_rigidity, *section.centre,
        section.flexural_xx, section.flexural_yy, section.flexural_xy,
    )  # fmt: skip
    assert found == pytest.approx(exact, rel=1e-6)
    assert torsion(section).rigidity == pytest.approx(rigidity, rel=1e-3)


def test_a_plate_with_a_hole_against_the_library() -> None:
    # As above: 30 x 12 with a hole of 48 corners, radius 3, at (20, 6), walls round the hole too. The cells at
    # the round rim are cut, hence 0.5 % on the torsional rigidity.
    turns = 2 * np.pi * np.arange(48) / 48
    hole = Outline([np.stack([20 + 3 * np.cos(turns), 6 + 3 * np.sin(turns)], axis=1)])
    outline = rectangle(30, 12) - hole
    core = outline.offset(-1.2, manifold3d.JoinType.Miter, 10.0)
    section = composite_section(outline, core, Stiffness(2000, 300, 2000 / 2.7, 300 / 2.7))
    assert section.axial_rigidity == pytest.approx(3.072372e5, rel=1e-6)
    assert section.centre == pytest.approx((15.613031, 6.0), rel=1e-6)
    assert (section.flexural_xx, section.flexural_yy) == pytest.approx((5.468286e6, 2.652045e7), rel=1e-6)
    assert torsion(section).rigidity == pytest.approx(5.652473e6, rel=5e-3)
