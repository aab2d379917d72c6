"""Snap arms, levers, gear teeth and impact: quadrature, statics, energy, limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from recommender.mechanics import beams, gear, impact, levers, section_properties, snap


@given(thin=st.floats(0.2, 1.0), narrow=st.floats(0.2, 1.0))
def test_tapered_arm_matches_adaptive_quadrature(thin: float, narrow: float) -> None:
    exact = quad(lambda s: (1 - s) ** 2 / ((1 - (1 - narrow) * s) * (1 - (1 - thin) * s) ** 3), 0, 1)[0]
    ours = snap.flexibility(thickness_ratio=thin, width_ratio=narrow)
    assert ours == pytest.approx(exact, rel=1e-7)


def test_handbook_coefficients() -> None:
    # Published guides print y = 0.67, 1.09 and 0.86 eps L^2 / h: plain, half as thick, a quarter as wide.
    def reach(**taper: float) -> float:
        return snap.allowable_deflection(allowable_strain=1.0, length=1.0, root_thickness=1.0, **taper)

    assert reach() == pytest.approx(2 / 3, rel=1e-12)
    assert reach(thickness_ratio=0.5) == pytest.approx(1.09, abs=0.005)
    assert reach(width_ratio=0.25) == pytest.approx(0.86, abs=0.005)


def test_thickness_taper_in_closed_form() -> None:
    # I = (-ln q + 2 q - 3/2 - q^2 / 2) / (1 - q)^3, q tip over root thickness (integrated by hand).
    q = 0.4
    by_hand = (-np.log(q) + 2 * q - 1.5 - q**2 / 2) / (1 - q) ** 3
    assert snap.flexibility(thickness_ratio=q) == pytest.approx(by_hand, rel=1e-9)


def test_a_plain_arm_is_a_cantilever() -> None:
    strain = snap.root_strain(deflection=0.8, length=14.0, root_thickness=1.6)
    force = snap.deflection_force(
        strain=strain, length=14.0, root_width=5.0, root_thickness=1.6, secant_modulus=1700.0
    )
    rigidity = 1700 * section_properties.rectangle_second_moment(width=5.0, height=1.6)
    tip = beams.bending_deflection(
        support="cantilever", load_at="end", span=14.0, force=force, flexural_rigidity=rigidity
    )
    assert tip == pytest.approx(0.8)


def test_mating_force_without_friction_is_a_wedge() -> None:
    push = snap.mating_force(deflection_force=10.0, friction=0.0, angle_deg=30.0)
    assert push == pytest.approx(10 * np.tan(np.pi / 6))


def test_self_locking_at_the_limit() -> None:
    angles = np.array([63.4, 63.5, 80.0])  # atan(1 / 0.5) = 63.435 degrees
    assert list(snap.is_self_locking(friction=0.5, angle_deg=angles)) == [False, True, True]


def test_snap_validity() -> None:
    assert list(snap.valid_arm(length=np.array([9.9, 10.0]), root_thickness=2.0)) == [False, True]
    ratios = np.array([0.49, 0.5, 1.0])
    assert list(snap.valid_taper(thickness_ratio=ratios)) == [False, True, True]
    assert list(snap.valid_strain(strain=np.array([0.0199, 0.02]))) == [True, False]
    assert snap.base_rotation_factor(length=10.0, root_thickness=2.0, give=2.0) == pytest.approx(1.4)


def test_socket_pressure_balances_the_torque_by_integration() -> None:
    side = levers.polygon_side(across_flats=17.0, sides=6)
    pressure = levers.socket_corner_pressure(torque=5000.0, sides=6, side_length=side, socket_height=9.0)
    # Pressure rises from the middle of the flat to its leading corner.
    torque = 6 * 9 * quad(lambda x: pressure * (2 * x / side) * x, 0, side / 2)[0]
    assert torque == pytest.approx(5000)
    assert side == pytest.approx(17 / np.sqrt(3))


def test_socket_hoop_by_hand() -> None:
    # N = 8 x 30 x 7.5 / 4 = 450 N; 450 / (2 x 3 x 8 x tan 30) = 16.238 MPa.
    stress = levers.socket_hoop_stress(
        corner_pressure=30.0, side_length=7.5, socket_height=8.0, sides=6, ring_thickness=3.0
    )
    assert stress == pytest.approx(16.238, abs=5e-4)


def test_a_square_has_its_side_across_flats() -> None:
    assert levers.polygon_side(across_flats=12.0, sides=4) == pytest.approx(12)
    assert levers.valid_socket_clearance(clearance=0.2, across_flats=10.0)
    assert not levers.valid_socket_clearance(clearance=0.201, across_flats=10.0)


def test_lewis_factor_between_and_outside_the_table() -> None:
    teeth = np.array([11, 12, 35, 100, 101])
    assert gear.lewis_form_factor(teeth=teeth) == pytest.approx([0.245, 0.245, 0.374, 0.447, 0.447])
    assert list(gear.valid_teeth(teeth=teeth)) == [False, True, True, True, False]
    # Shigley Table 14-2 at 38 teeth: 0.384; the straight line lies below but within 1 %.
    assert 0.99 * 0.384 < gear.lewis_form_factor(teeth=38) <= 0.384


def test_allowable_torque_reaches_the_allowable_stress() -> None:
    tooth = {"face_width": 8.0, "module": 2.0, "form_factor": 0.303}
    torque = gear.allowable_torque(
        allowable_stress=25.0, teeth=17, **tooth, velocity_factor=1.1, derating=0.5
    )
    force = gear.tangential_force(torque=torque, teeth=17, module=2.0)
    assert gear.tooth_root_stress(tangential_force=force, **tooth, velocity_factor=1.1) == pytest.approx(12.5)
    assert gear.velocity_factor(pitch_line_speed_m_s=6.1) == 2
    assert list(gear.valid_speed(pitch_line_speed_m_s=np.array([2.0, 2.1]))) == [True, False]


@given(mass=st.floats(0.01, 50), height=st.floats(0, 2000), stiffness=st.floats(0.1, 1000))
def test_a_drop_conserves_energy(mass: float, height: float, stiffness: float) -> None:
    force = impact.drop_force(mass_kg=mass, drop_height=height, stiffness=stiffness)
    travel = force / stiffness
    weight = mass * impact.STANDARD_GRAVITY
    assert weight * (height + travel) == pytest.approx(force * travel / 2, rel=1e-6)
    assert force >= 2 * weight * (1 - 1e-12)


def test_a_drop_from_nothing_is_a_sudden_load() -> None:
    weight = 2.5 * impact.STANDARD_GRAVITY
    assert impact.drop_force(mass_kg=2.5, drop_height=0.0, stiffness=7.0) == pytest.approx(
        impact.sudden_force(force=weight)
    )


def test_sideways_blow_and_stored_energy_agree() -> None:
    # 0.5 m v^2 = 0.5 x 2 x 9 = 9 J.
    blow = impact.horizontal_force(mass_kg=2.0, speed_m_s=3.0, stiffness=50.0)
    assert blow == pytest.approx(impact.energy_force(energy_j=9.0, stiffness=50.0))
    assert blow == pytest.approx(948.68, abs=5e-3)
    assert impact.valid_heavy_striker(striker_mass_kg=0.5, part_mass_kg=0.1)
    assert not impact.valid_heavy_striker(striker_mass_kg=0.49, part_mass_kg=0.1)
