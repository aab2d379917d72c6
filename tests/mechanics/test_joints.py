"""Lugs, screws, screw groups, press fits, hinges and notches: finite elements, statics, limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.mechanics import bolt_groups, fasteners, hinges, lugs, notches, press_fit

# Contact finite elements, D = 10, t = 5, P = 1000 N: W / D, e / D, peak over net stress, tension at the
# free end in MPa.
LUGS = [
    (2.0, 1.0, 2.516, 16.03),
    (2.5, 1.25, 3.083, 12.02),
    (3.0, 1.5, 3.558, 10.61),
    (4.0, 2.0, 4.535, 9.68),
    (3.0, 1.0, 4.468, 17.09),
    (3.0, 2.0, 3.324, 10.16),
]


@pytest.mark.parametrize(("wide", "deep", "peak", "tension"), LUGS)
def test_lug_fit_against_contact_finite_elements(
    wide: float, deep: float, peak: float, tension: float
) -> None:
    size = {"width": 10 * wide, "hole_diameter": 10.0, "edge_distance": 10 * deep}
    # 4 %: the fit's largest error over its six runs is 3.9 %.
    assert lugs.lug_stress_concentration(**size) == pytest.approx(peak, rel=0.04)
    assert lugs.valid_lug(**size)
    free_end = lugs.free_end_tension(force=1000.0, hole_diameter=10.0, edge_distance=10 * deep, thickness=5.0)
    assert tension * 0.999 <= free_end <= 1.07 * tension


def test_lug_fit_is_refused_outside_its_runs() -> None:
    width = np.array([19.9, 20.0, 40.0, 40.1])
    assert list(lugs.valid_lug(width=width, hole_diameter=10.0, edge_distance=10.0)) == [
        False,
        True,
        True,
        False,
    ]
    edge = np.array([9.9, 10.0, 20.0, 20.1])
    assert list(lugs.valid_lug(width=30.0, hole_diameter=10.0, edge_distance=edge)) == [
        False,
        True,
        True,
        False,
    ]


def test_the_edge_form_of_shear_out_is_the_cautious_one() -> None:
    lug = {"force": 900.0, "hole_diameter": 8.0, "edge_distance": 11.0, "thickness": 4.0}
    assert lugs.shear_out_stress_edge(**lug) == pytest.approx(900 / (2 * 4 * 7))
    assert lugs.shear_out_stress(**lug) < lugs.shear_out_stress_edge(**lug)


# Plane-stress finite elements of an open hole: W / d, peak over net stress.
HOLES = [(2.0, 2.1746), (3.0, 2.3184), (4.0, 2.4348), (6.0, 2.5864)]


@pytest.mark.parametrize(("wide", "peak"), HOLES)
def test_open_hole_against_finite_elements(wide: float, peak: float) -> None:
    hole = {"width": wide * 5, "hole_diameter": 5.0}
    assert notches.hole_factor_net(**hole) == pytest.approx(peak, rel=0.024)
    assert notches.valid_hole(**hole)
    gross = notches.hole_factor_gross(**hole)
    assert gross == pytest.approx(notches.hole_factor_net(**hole) * wide / (wide - 1))


def test_a_small_hole_in_a_wide_plate_is_kirschs() -> None:
    # Kirsch, 1898: 3.
    assert notches.hole_factor_gross(width=1e6, hole_diameter=1.0) == pytest.approx(3, rel=1e-5)
    assert notches.ellipse_factor(depth=2.0, tip_radius=2.0) == 3


@given(peak=st.floats(1, 6), sensitivity=st.floats(0, 1))
def test_sensitivity_runs_from_nothing_to_the_full_peak(peak: float, sensitivity: float) -> None:
    factor = notches.notch_factor(stress_concentration=peak, sensitivity=sensitivity)
    assert 1 <= factor <= peak + 1e-12
    assert notches.notch_factor(stress_concentration=peak, sensitivity=1.0) == pytest.approx(peak)


def test_an_asymmetric_screw_group_by_hand() -> None:
    # Screws at (0, 0), (30, 0), (0, 60); centroid (10, 20); r^2 = 500 + 800 + 1700 = 3000.
    # 300 N at e = 50: 5 N per mm. Direct 100 N each. Screw 3: (200, 100 - 50) -> 206.155 N;
    # screw 2: (-100, 100 + 100) -> 223.607 N; screw 1: (-100, 50) -> 111.8 N.
    x, y = [0.0, 30.0, 0.0], [0.0, 0.0, 60.0]
    assert bolt_groups.polar_second_moment(x=x, y=y) == pytest.approx(3000)
    largest = bolt_groups.largest_shear_force(x=x, y=y, force=300.0, eccentricity=50.0)
    assert largest == pytest.approx(223.607, abs=5e-4)


def test_a_centred_load_is_shared_equally() -> None:
    x, y = [-9.0, 9.0, -9.0, 9.0], [-4.0, -4.0, 4.0, 4.0]
    assert bolt_groups.largest_shear_force(x=x, y=y, force=88.0, eccentricity=0.0) == pytest.approx(22)


@given(low=st.floats(5, 30), middle=st.floats(31, 60), high=st.floats(61, 200))
def test_rows_balance_the_moment(low: float, middle: float, high: float) -> None:
    heights = [low, middle, high]
    rows = [
        bolt_groups.row_tension(moment=7000.0, heights=heights, screws_per_row=2, row=i) for i in range(3)
    ]
    assert sum(2 * f * y for f, y in zip(rows, heights, strict=True)) == pytest.approx(7000)
    assert 2 * sum(rows) == pytest.approx(bolt_groups.heel_reaction(moment=7000.0, heights=heights))
    assert rows[-1] < bolt_groups.single_row_tension(moment=7000.0, height=high, screws=2)


def test_combined_screw_load_on_its_limits() -> None:
    limits = {"tension_capacity": 100.0, "shear_capacity": 50.0}
    assert bolt_groups.combined_utilisation(tension=100.0, shear=0.0, **limits) == 1
    assert bolt_groups.combined_utilisation(tension=0.0, shear=50.0, **limits) == 1
    assert bolt_groups.combined_utilisation(tension=60.0, shear=40.0, **limits) == pytest.approx(1)


def test_a_ring_thinner_than_the_thread_gives_its_share() -> None:
    strengths = {"ring_strength": 20.0, "infill_strength": 4.0, "thread_depth": 0.5}
    means = fasteners.ring_strength(ring_thickness=np.array([0.0, 0.2, 0.5, 2.0]), **strengths)
    assert means == pytest.approx([4.0, 0.4 * 20 + 0.6 * 4, 20.0, 20.0])


def test_boss_rules_and_bearing_by_hand() -> None:
    assert fasteners.minimum_boss_diameter(insert_diameter=3.0) == 7.0
    assert fasteners.minimum_boss_diameter(insert_diameter=5.6) == pytest.approx(11.2)
    assert fasteners.head_bearing_stress(force=300.0, head_diameter=9.0, hole_diameter=4.3) == pytest.approx(
        6.111, abs=5e-4
    )
    assert fasteners.boss_axial_stress(force=100.0, outer_diameter=8.0, bore=4.0) == pytest.approx(
        100 / (12 * np.pi)
    )
    assert fasteners.lying_boss_shear_strength(
        shear_strength=20.0, interlayer_shear_strength=10.0
    ) == pytest.approx(15)
    assert fasteners.shear_from_tension(tensile_strength=30.0) == pytest.approx(17.3205, abs=5e-5)
    assert fasteners.valid_drive_torque(drive_torque=100.0, strip_torque=300.0)
    assert not fasteners.valid_drive_torque(drive_torque=100.0, strip_torque=299.0)


@given(outer=st.floats(11, 60), interference=st.floats(0.01, 0.3))
def test_press_fit_stresses_are_in_balance_and_relax_with_the_modulus(
    outer: float, interference: float
) -> None:
    def pressure(modulus: float) -> float:
        return press_fit.contact_pressure(
            bore=10.0,
            outer_diameter=outer,
            interference=interference,
            hub_modulus=modulus,
            hub_poisson_ratio=0.38,
        )

    p = pressure(2000.0)
    assert pressure(700.0) == pytest.approx(0.35 * p)
    inner = press_fit.hoop_stress_inner(pressure=p, bore=10.0, outer_diameter=outer)
    outside = press_fit.hoop_stress_outer(pressure=p, bore=10.0, outer_diameter=outer)
    # Lame: hoop plus radial stress is the same everywhere; radial is -p inside and 0 outside.
    assert inner - p == pytest.approx(outside, rel=1e-9)


def test_a_thin_ring_is_a_hoop() -> None:
    # Rigid shaft, thin ring: strain delta / d, stress E delta / d.
    p = press_fit.contact_pressure(
        bore=100.0, outer_diameter=100.2, interference=0.5, hub_modulus=2000.0, hub_poisson_ratio=0.38
    )
    hoop = press_fit.hoop_stress_inner(pressure=p, bore=100.0, outer_diameter=100.2)
    assert hoop == pytest.approx(2000 * press_fit.interference_strain(interference=0.5, bore=100.0), rel=3e-3)


def test_a_stiff_shaft_tends_to_a_rigid_one() -> None:
    fit = {
        "bore": 10.0,
        "outer_diameter": 18.0,
        "interference": 0.1,
        "hub_modulus": 2000.0,
        "hub_poisson_ratio": 0.38,
    }
    assert press_fit.contact_pressure(**fit, shaft_modulus=1e12) == pytest.approx(
        press_fit.contact_pressure(**fit)
    )
    assert press_fit.valid_ring(bore=10.0, outer_diameter=10.1)
    assert not press_fit.valid_ring(bore=10.0, outer_diameter=10.0)


def test_living_hinge_validity_and_geometry() -> None:
    assert list(hinges.valid_living_hinge(thickness=0.4, length=np.array([1.9, 2.0]))) == [False, True]
    strain = hinges.living_hinge_strain(thickness=0.4, length=4.0, angle_deg=90.0)
    radius = hinges.living_hinge_radius(length=4.0, angle_deg=90.0)
    assert strain == pytest.approx(0.4 / (2 * radius))


def test_prying_and_shares() -> None:
    assert bolt_groups.valid_thick_flange(flange_thickness=6.0, inner_distance=5.0)
    assert not bolt_groups.valid_thick_flange(flange_thickness=5.0, inner_distance=5.0)
    assert bolt_groups.prying_force(tension=90.0, inner_distance=5.0, edge_distance=15.0) == 30.0


def test_critical_distance_shrinks_with_strength() -> None:
    # K_Ic = 2 MPa sqrt(m) = 63.246 MPa sqrt(mm), S_0 = 50: (63.246 / 50)^2 / pi = 0.5093 mm.
    distance = notches.critical_distance(fracture_toughness_mpa_sqrt_m=2.0, inherent_strength=50.0)
    assert distance == pytest.approx(0.5093, abs=5e-5)


def test_bearing_needs_a_solid_ring() -> None:
    rings = np.array([1.79, 1.8])
    assert list(lugs.valid_bearing_ring(ring_thickness=rings, hole_diameter=6.0)) == [False, True]


def test_the_default_shaft_of_a_given_modulus_is_metal() -> None:
    # By hand: hub (5/3 + 0.38) / 2000, shaft 0.7 / 5000; 0.1 / (10 x 1.163333e-3) = 8.5960 MPa.
    pressure = press_fit.contact_pressure(
        bore=10.0,
        outer_diameter=20.0,
        interference=0.1,
        hub_modulus=2000.0,
        hub_poisson_ratio=0.38,
        shaft_modulus=5000.0,
    )
    assert pressure == pytest.approx(8.5960, abs=5e-4)
