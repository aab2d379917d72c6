"""Skin-and-core sections: limits, hand calculations and 3-D finite elements."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.mechanics import beams, section_properties
from recommender.mechanics import layered_section as layered

BOX = {"width": 20.0, "height": 10.0, "top_bottom_thickness": 1.0}
SKIN = 2500.0
SKIN_SHEAR = SKIN / 2.7

# 3-D finite elements (20-node bricks, quarter model) of a 20 x 10 mm cantilever with 1 mm top and
# bottom layers under 50 N at its end: wall thickness, core over skin modulus, length, then tip
# deflection in mm, skin stress at the section compared and core shear stress in MPa.
FINITE_ELEMENTS = [
    (1.2, 0.01, 100, 7.4734, 0.0377),
    (1.2, 0.05, 100, 7.0948, 0.1205),
    (1.2, 0.2, 100, 6.2464, 0.2126),
    (1.2, 0.5, 100, 5.1258, 0.2674),
    (1.2, 1.0, 100, 3.9631, 0.3094),
    (0.0, 0.01, 100, 10.4724, 0.2759),
    (0.0, 0.05, 100, 8.1822, 0.2742),
    (0.0, 0.2, 100, 6.8011, 0.2768),
    (1.2, 0.02, 40, 0.5770, 0.0735),
    (1.2, 0.1, 40, 0.4769, 0.1787),
]


def rigidities(wall: float, ratio: float) -> tuple[float, float]:
    flexural = layered.flexural_rigidity(
        **BOX, wall_thickness=wall, skin_modulus=SKIN, core_modulus=ratio * SKIN
    )
    shear = layered.shear_rigidity(
        **BOX, wall_thickness=wall, skin_shear_modulus=SKIN_SHEAR, core_shear_modulus=ratio * SKIN / 2.6
    )
    return flexural, shear


@pytest.mark.parametrize(("wall", "ratio", "length", "tip", "core_shear"), FINITE_ELEMENTS)
def test_tip_deflection_is_within_five_percent_of_finite_elements(
    wall: float, ratio: float, length: float, tip: float, core_shear: float
) -> None:
    flexural, shear = rigidities(wall, ratio)
    ours = beams.deflection(
        support="cantilever",
        load_at="end",
        span=length,
        force=50.0,
        flexural_rigidity=flexural,
        shear_rigidity=shear,
    )
    assert ours == pytest.approx(tip, rel=0.05)


@pytest.mark.parametrize(("wall", "ratio", "length", "tip", "core_shear"), FINITE_ELEMENTS)
def test_core_shear_for_a_verdict_is_never_below_finite_elements(
    wall: float, ratio: float, length: float, tip: float, core_shear: float
) -> None:
    _, shear = rigidities(wall, ratio)
    ours = layered.core_shear_stress(
        **BOX,
        wall_thickness=wall,
        shear_force=50.0,
        core_shear_modulus=ratio * SKIN / 2.6,
        shear_rigidity=shear,
    )
    # 1 % for the mesh; the upper limit says the correction is not a blanket overestimate.
    assert 0.99 * core_shear <= ours <= 1.5 * core_shear


def test_the_plain_core_shear_formula_is_low_beside_walls() -> None:
    _, shear = rigidities(1.2, 0.01)
    plain = layered.core_shear_stress_formula(
        shear_force=50.0,
        height=10.0,
        top_bottom_thickness=1.0,
        core_shear_modulus=0.01 * SKIN / 2.6,
        shear_rigidity=shear,
    )
    assert plain / 0.0377 - 1 == pytest.approx(-0.29, abs=0.01)


sizes = st.floats(5.0, 50.0)
thicknesses = st.floats(0.4, 6.0)


@given(width=sizes, height=sizes, wall=thicknesses, layers=thicknesses)
def test_a_core_as_stiff_as_the_skin_is_a_solid_bar(
    width: float, height: float, wall: float, layers: float
) -> None:
    box = {"width": width, "height": height, "wall_thickness": wall, "top_bottom_thickness": layers}
    solid = section_properties.rectangle(width=width, height=height)
    moduli = {"skin_modulus": 2000.0, "core_modulus": 2000.0}
    assert layered.axial_rigidity(**box, **moduli) == pytest.approx(2000 * solid.area)
    assert layered.flexural_rigidity(**box, **moduli) == pytest.approx(2000 * solid.second_moment_height)
    shear = layered.shear_rigidity(**box, skin_shear_modulus=700.0, core_shear_modulus=700.0)
    assert shear <= 700 * solid.shear_area_height * (1 + 1e-12)


@given(width=sizes, height=sizes, core=st.floats(0, 2000))
def test_where_the_skins_meet_the_core_has_no_say(width: float, height: float, core: float) -> None:
    box = {
        "width": width,
        "height": height,
        "wall_thickness": width / 2,
        "top_bottom_thickness": 0.7 * height,
    }
    solid = section_properties.rectangle(width=width, height=height)
    moduli = {"skin_modulus": 2000.0, "core_modulus": core}
    assert layered.flexural_rigidity(**box, **moduli) == pytest.approx(2000 * solid.second_moment_height)
    assert layered.axial_rigidity(**box, **moduli) == pytest.approx(2000 * solid.area)
    shear = layered.shear_rigidity(**box, skin_shear_modulus=700.0, core_shear_modulus=core)
    assert shear == pytest.approx(700 * solid.shear_area_height)


def test_layers_that_meet_between_thin_walls_are_solid_in_shear() -> None:
    shear = layered.shear_rigidity(
        width=20.0,
        height=2.0,
        wall_thickness=0.8,
        top_bottom_thickness=1.0,
        skin_shear_modulus=700.0,
        core_shear_modulus=3.0,
    )
    assert shear == pytest.approx(700 * 40 * 5 / 6)


@given(wall=st.floats(0.4, 4.0), extra=st.floats(0.05, 1.0), core=st.floats(20, 900))
def test_a_thicker_wall_is_never_softer(wall: float, extra: float, core: float) -> None:
    def rigidity(thickness: float) -> float:
        return layered.flexural_rigidity(
            **BOX, wall_thickness=thickness, skin_modulus=1000.0, core_modulus=core
        )

    assert rigidity(wall + extra) >= rigidity(wall)


def test_asymmetric_stack_by_hand() -> None:
    # EA = 2 and 12 at y = 0.5 and 2.5, so y_na = 31/14;
    # EI = 2 (1/12 + (24/14)^2) + 12 (9/12 + (4/14)^2) = 16.0238.
    stack = layered.stacked_strips([layered.Strip(2, 1, 1), layered.Strip(2, 3, 2)])
    assert stack.neutral_axis == pytest.approx(31 / 14)
    assert stack.flexural_rigidity == pytest.approx(16.0238, abs=5e-5)


def test_a_box_is_a_stack_of_three_strips_in_two_ways() -> None:
    box = {"width": 14.0, "height": 9.0, "wall_thickness": 1.3, "top_bottom_thickness": 0.7}
    whole = layered.three_modulus_flexural_rigidity(
        **box, wall_modulus=2600.0, top_bottom_modulus=1900.0, core_modulus=150.0
    )
    cap = layered.Strip(14.0, 0.7, (2.6 * 2600 + 11.4 * 1900) / 14)
    middle = layered.Strip(14.0, 7.6, (2.6 * 2600 + 11.4 * 150) / 14)
    stack = layered.stacked_strips([cap, middle, cap])
    assert whole == pytest.approx(stack.flexural_rigidity, rel=1e-12)
    axial = layered.three_modulus_axial_rigidity(
        **box, wall_modulus=2600.0, top_bottom_modulus=1900.0, core_modulus=150.0
    )
    assert axial == pytest.approx(stack.axial_rigidity, rel=1e-12)


def test_equal_moduli_reduce_three_to_two() -> None:
    box = {"width": 14.0, "height": 9.0, "wall_thickness": 1.3, "top_bottom_thickness": 0.7}
    three = layered.three_modulus_flexural_rigidity(
        **box, wall_modulus=2600.0, top_bottom_modulus=2600.0, core_modulus=150.0
    )
    two = layered.flexural_rigidity(**box, skin_modulus=2600.0, core_modulus=150.0)
    assert three == pytest.approx(two, rel=1e-12)


def test_an_empty_stack_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one strip"):
        layered.stacked_strips([])


def test_tube_with_a_solid_core_and_with_none() -> None:
    tube = {"outer_diameter": 20.0, "inner_diameter": 12.0, "skin_modulus": 2000.0}
    solid = 2000 * section_properties.round_second_moment(outer_diameter=20.0, inner_diameter=12.0)
    for skin, core in [(0.8, 2000.0), (2.0, 1.0), (5.0, 1.0)]:
        assert layered.tube_flexural_rigidity(
            **tube, skin_thickness=skin, core_modulus=core
        ) == pytest.approx(solid)
    # By hand: core ring from 18.4 to 13.6 mm at a tenth of the modulus.
    by_hand = np.pi / 64 * (2000 * (20**4 - 12**4) - 1800 * (18.4**4 - 13.6**4))
    hollow = layered.tube_flexural_rigidity(**tube, skin_thickness=0.8, core_modulus=200.0)
    assert hollow == pytest.approx(by_hand)


def test_open_grids_give_the_same_numbers_as_scalars() -> None:
    walls = np.array([0.45, 0.9, 1.35])[:, None, None]
    layers = np.array([0.4, 0.8])[None, :, None]
    core = np.array([50.0, 200.0, 900.0, 2000.0])[None, None, :]
    grid = layered.flexural_rigidity(
        width=12.0,
        height=7.0,
        wall_thickness=walls,
        top_bottom_thickness=layers,
        skin_modulus=2000.0,
        core_modulus=core,
    )
    assert grid.shape == (3, 2, 4)
    one = layered.flexural_rigidity(
        width=12.0,
        height=7.0,
        wall_thickness=0.9,
        top_bottom_thickness=0.8,
        skin_modulus=2000.0,
        core_modulus=900.0,
    )
    assert grid[1, 1, 2] == pytest.approx(one, rel=1e-14)


def test_core_shear_bound_without_a_core_is_infinite() -> None:
    bound = layered.core_shear_stress_bound(
        shear_force=10.0, width=2.0, height=4.0, wall_thickness=1.0, top_bottom_thickness=0.5
    )
    assert np.isinf(bound)


def test_validity_predicates() -> None:
    walls = np.array([2.4, 2.5, 4.0, 5.0])
    assert list(layered.valid_thin_walls(width=10.0, wall_thickness=walls)) == [True, False, False, True]
    cores = np.array([24.0, 25.0, 26.0, np.nan])
    assert list(layered.valid_core_stiffness(skin_modulus=2500.0, core_modulus=cores)) == [
        False,
        False,
        True,
        False,
    ]
