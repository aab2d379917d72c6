"""Time, mass and cost of a build; sizes as printed; overhangs: geometry, kinematics, limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.mechanics import beads, dimensions, overhang, print_time


@given(length=st.floats(0.01, 500), speed=st.floats(5, 500), acceleration=st.floats(100, 20000))
def test_move_time_equals_both_textbook_branches(length: float, speed: float, acceleration: float) -> None:
    if length > speed**2 / acceleration:
        expected = length / speed + speed / acceleration
    else:
        expected = 2 * np.sqrt(length / acceleration)
    move = {"length": length, "speed": speed, "acceleration": acceleration}
    assert print_time.segment_time(**move) == pytest.approx(expected)
    assert print_time.mean_speed(**move) <= speed * (1 + 1e-12)


def test_build_time_by_hand() -> None:
    # Bead 0.5 x 0.25: area 0.25 (0.5 - 0.25 (1 - pi/4)) = 0.111587 mm^2.
    # 1000 / 50 + 300 / 100 = 23 -> 206.1166 s; x 1.2 + 30 + 40 x 2 = 357.3399 s.
    time = print_time.build_time(
        volumes=[1000.0, 300.0],
        speeds=[50.0, 100.0],
        line_width=0.5,
        layer_height=0.25,
        layers=40,
        layer_overhead=2.0,
        start_time=30.0,
        travel_factor=1.2,
    )
    assert time == pytest.approx(357.3399, abs=5e-4)
    whole = print_time.extrusion_time(volume=1000.0, line_width=0.5, layer_height=0.25, speed=50.0)
    assert whole == pytest.approx(20 / 0.1115873, rel=1e-6)


def test_flow_limit_is_the_speed_at_which_flow_is_used_up() -> None:
    bead = {"line_width": 0.6, "layer_height": 0.3}
    speed = print_time.flow_limited_speed(**bead, maximum_flow=11.0)
    assert print_time.volumetric_flow(**bead, speed=speed) == pytest.approx(11)
    assert print_time.valid_flow(**bead, speed=0.999 * speed, maximum_flow=11.0)
    assert not print_time.valid_flow(**bead, speed=1.001 * speed, maximum_flow=11.0)


def test_layers_are_counted_up_but_not_for_rounding() -> None:
    heights = np.array([10.0, 10.001, 10.1, 0.6])
    assert list(print_time.layer_count(height=heights, layer_height=0.2)) == [50, 50, 51, 3]


def test_cost_by_hand() -> None:
    # 150 g at 24 per kg = 3.6; 5400 s at 0.8 per hour = 1.2; 0.5 fixed.
    assert print_time.cost(
        mass_g=150.0, price_per_kg=24.0, time_s=5400.0, price_per_hour=0.8, fixed=0.5
    ) == pytest.approx(5.3)


def test_filament_holds_the_volume_of_the_part() -> None:
    length = print_time.filament_length_m(volume=5000.0, filament_diameter=2.85)
    assert length * 1000 * np.pi / 4 * 2.85**2 == pytest.approx(5000)
    assert print_time.clamped_layer_time(
        layer_time=np.array([3.0, 12.0]), minimum_layer_time=8.0
    ) == pytest.approx([8.0, 12.0])


@given(
    scale=st.floats(0.97, 1.03),
    offset=st.floats(-0.5, 0.5),
    small=st.floats(1, 50),
    gap=st.floats(5, 100),
)
def test_two_sizes_give_back_scale_and_offset(scale: float, offset: float, small: float, gap: float) -> None:
    sizes = np.array([small, small + gap])
    measured = scale * sizes + offset
    found = dimensions.scale_from_two(
        nominal_1=sizes[0], measured_1=measured[0], nominal_2=sizes[1], measured_2=measured[1]
    )
    rest = dimensions.offset_from_one(nominal=sizes[0], measured=measured[0], scale=found)
    assert found == pytest.approx(scale, abs=1e-9)
    assert rest == pytest.approx(offset, abs=1e-6)
    drawn = dimensions.drawn_size(wanted=14.0, scale=found, offset=rest)
    assert scale * drawn + offset == pytest.approx(14)


def test_hole_losses_vanish_in_their_limits() -> None:
    assert dimensions.chord_undersize(diameter=5.0, facets=10_000) == pytest.approx(0, abs=1e-6)
    # sqrt(r^2 + w^2/12) - r tends to w^2 / (24 r).
    far = dimensions.curved_bead_undersize(centreline_radius=100.0, line_width=0.5)
    assert far == pytest.approx(0.25 / 2400, rel=1e-5)
    assert dimensions.curved_bead_area_ratio(centreline_radius=1e5, line_width=0.4) == pytest.approx(
        1, abs=1e-5
    )


@given(width=st.floats(0.3, 1.0), ratio=st.floats(0.3, 0.8), squeeze=st.floats(0.5, 1.2))
def test_a_squeezed_bead_keeps_its_area(width: float, ratio: float, squeeze: float) -> None:
    height = width * ratio
    gap = height * squeeze
    squeezed = dimensions.squished_width(line_width=width, layer_height=height, gap=gap)
    area = beads.bead_area(line_width=squeezed, layer_height=gap)
    assert area == pytest.approx(beads.bead_area(line_width=width, layer_height=height))
    spread = dimensions.first_layer_spread(line_width=width, layer_height=height, gap=gap)
    assert (spread > 0) == (squeeze < 1) or squeeze == pytest.approx(1)


# ISO 286-1:2010, table 1, standard tolerances in micrometres, rounded in the standard: size, grade.
STANDARD = [
    (8, 7, 15),
    (8, 9, 36),
    (8, 11, 90),
    (25, 7, 21),
    (25, 11, 130),
    (25, 13, 330),
    (40, 9, 62),
    (40, 12, 250),
    (100, 11, 220),
    (100, 14, 870),
]


@pytest.mark.parametrize(("size", "grade", "tolerance"), STANDARD)
def test_iso_286_grades(size: float, grade: int, tolerance: float) -> None:
    mean = dimensions.size_step_mean(nominal=size)
    # The standard rounds its table: within 3 %, or 0.7 of a micrometre in the fine grades.
    assert dimensions.standard_tolerance_um(step_mean=mean, grade=grade) == pytest.approx(
        tolerance, rel=0.03, abs=0.7
    )


def test_iso_size_steps_include_their_upper_limit() -> None:
    sizes = np.array([2.0, 3.0, 3.001, 10.0, 10.001])
    means = dimensions.size_step_mean(nominal=sizes)
    assert means**2 == pytest.approx([3, 3, 18, 60, 180])
    assert list(dimensions.valid_iso_size(nominal=np.array([0.0, 500.0, 500.1]))) == [False, True, False]
    with pytest.raises(ValueError, match="IT5 to IT16"):
        dimensions.standard_tolerance_um(step_mean=10.0, grade=3)


def test_walls_and_gaps_at_their_limits() -> None:
    assert dimensions.valid_structural_wall(thickness=0.9, line_width=0.45)
    assert not dimensions.valid_structural_wall(thickness=0.89, line_width=0.45)
    assert list(dimensions.closes(gap=np.array([0.19, 0.2]), line_width=0.4)) == [True, False]


def test_the_steepest_angle_uses_up_the_allowed_share() -> None:
    angle = overhang.steepest_angle_deg(layer_height=0.28, line_width=0.45)
    share = overhang.unsupported_fraction(layer_height=0.28, angle_deg=angle, line_width=0.45)
    assert share == pytest.approx(0.5)
    angles = np.array([0.0, 38.0, 39.0, 46.0])  # steepest: 38.8 degrees
    assert list(overhang.valid_overhang(layer_height=0.28, angle_deg=angles, line_width=0.45)) == [
        True,
        True,
        False,
        False,
    ]
    assert not overhang.valid_overhang(layer_height=0.1, angle_deg=46.0, line_width=0.45)


def test_sag_grows_with_the_fourth_power_of_the_span() -> None:
    strand = {"line_load": 1.5e-6, "strand_diameter": 0.4, "hot_modulus": 50.0}
    ratio = overhang.bridge_sag(span=30.0, **strand) / overhang.bridge_sag(span=15.0, **strand)
    assert ratio == pytest.approx(16)
