"""Creep, temperature, thermal movement, fatigue and pressure: limits, inverses, hand calculations."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.mechanics import fatigue, pressure, thermal
from recommender.mechanics import time_and_temperature as ageing


def test_at_the_reference_time_nothing_has_crept() -> None:
    assert ageing.creep_modulus(
        short_term_modulus=2300.0, time_h=0.1, reference_time_h=0.1, exponent=0.07
    ) == pytest.approx(2300)
    assert ageing.findley_strain(
        stress=10.0, short_term_modulus=2000.0, amplitude=3e-4, exponent=0.2, time_h=0.0
    ) == pytest.approx(0.005)


@given(early=st.floats(0.01, 100), ratio=st.floats(1.01, 1e4), exponent=st.floats(0.01, 0.3))
def test_equal_ratios_of_time_cost_equal_shares(early: float, ratio: float, exponent: float) -> None:
    def modulus(time: float) -> float:
        return ageing.creep_modulus(
            short_term_modulus=1.0, time_h=time, reference_time_h=0.01, exponent=exponent
        )

    assert modulus(early * ratio) / modulus(early) == pytest.approx(ratio**-exponent)


def test_shift_factors_vanish_at_their_reference() -> None:
    assert ageing.wlf_log_shift(temperature=60.0, glass_transition=60.0) == 0
    assert ageing.arrhenius_log_shift(
        activation_energy_kj_mol=150.0, temperature=23.0, reference_temperature=23.0
    ) == pytest.approx(0)


@given(warmer=st.floats(0.1, 40))
def test_warmer_means_sooner(warmer: float) -> None:
    shift = ageing.arrhenius_log_shift(
        activation_energy_kj_mol=150.0, temperature=23 + warmer, reference_temperature=23.0
    )
    assert shift < 0
    assert ageing.shifted_time_h(time_h=10.0, log_shift=shift) > 10
    assert ageing.wlf_log_shift(temperature=60 + warmer, glass_transition=60.0) < 0


def test_a_decade_of_shift_is_a_factor_of_ten() -> None:
    assert ageing.shifted_time_h(time_h=3.0, log_shift=-1.0) == pytest.approx(30)


def test_derating_at_its_corners() -> None:
    temperatures = np.array([-20.0, 23.0, 39.0, 55.0, 90.0])
    share = ageing.linear_derating(
        temperature=temperatures, glass_transition=60.0, fraction_near_transition=0.4
    )
    assert share == pytest.approx([1.0, 1.0, 0.7, 0.4, 0.4])


def test_temperature_validity() -> None:
    temperatures = np.array([49.9, 50.0, 50.1, np.nan])
    assert list(ageing.valid_below_glass_transition(temperature=temperatures, glass_transition=60.0)) == [
        True,
        True,
        False,
        False,
    ]
    assert list(ageing.valid_wlf(temperature=np.array([59.0, 60.0, 161.0]), glass_transition=60.0)) == [
        False,
        True,
        False,
    ]


def test_two_layers_of_one_material_stay_flat() -> None:
    layers = {"modulus_1": 2000.0, "modulus_2": 1000.0, "thickness_1": 2.0, "thickness_2": 1.5}
    assert (
        thermal.bilayer_curvature(**layers, expansion_1=7e-5, expansion_2=7e-5, temperature_change=40.0) == 0
    )


def test_bilayer_matches_force_balance() -> None:
    # Two layers sharing one curvature: unknown a, k with E_i (a + k y - alpha_i dT); no net force, no moment.
    e, t, alpha, change = (2300.0, 900.0), (3.0, 1.0), (7e-5, 4e-5), 30.0
    edges = [(0.0, 3.0), (3.0, 4.0)]
    matrix, right = np.zeros((2, 2)), np.zeros(2)
    for i, (y1, y2) in enumerate(edges):
        moments = [y2 - y1, (y2**2 - y1**2) / 2, (y2**3 - y1**3) / 3]
        matrix += e[i] * np.array([moments[:2], moments[1:]])
        right += e[i] * alpha[i] * change * np.array(moments[:2])
    curvature = np.linalg.solve(matrix, right)[1]
    ours = thermal.bilayer_curvature(
        modulus_1=e[0],
        modulus_2=e[1],
        thickness_1=t[0],
        thickness_2=t[1],
        expansion_1=alpha[0],
        expansion_2=alpha[1],
        temperature_change=change,
    )
    assert abs(curvature) == pytest.approx(ours, rel=1e-9)


@given(cycles=st.floats(1, 1e8), exponent=st.floats(-0.2, -0.05))
def test_life_and_amplitude_undo_each_other(cycles: float, exponent: float) -> None:
    amplitude = fatigue.basquin_amplitude(cycles=cycles, coefficient=60.0, exponent=exponent)
    life = fatigue.basquin_life(stress_amplitude=amplitude, coefficient=60.0, exponent=exponent)
    assert life == pytest.approx(cycles, rel=1e-9)


def test_goodman_at_its_ends() -> None:
    assert fatigue.goodman_amplitude(stress_amplitude=8.0, mean_stress=0.0, ultimate_strength=45.0) == 8
    means = np.array([-0.1, 0.0, 44.9, 45.0])
    assert list(fatigue.valid_goodman(mean_stress=means, ultimate_strength=45.0)) == [
        False,
        True,
        True,
        False,
    ]
    assert fatigue.valid_frequency(frequency_hz=4.9)
    assert not fatigue.valid_frequency(frequency_hz=5.0)


def test_damage_of_one_whole_life_is_one() -> None:
    assert fatigue.miner_damage(cycles=[5e3, 2e3], lives=[1e4, 4e3]) == 1


def test_a_thick_cylinder_tends_to_a_thin_one() -> None:
    thick = pressure.thick_hoop_stress(pressure=0.2, inner_radius=50.0, outer_radius=50.1)
    assert thick == pytest.approx(
        pressure.thin_hoop_stress(pressure=0.2, radius=50.0, thickness=0.1), rel=2e-3
    )
    assert pressure.valid_thin_cylinder(radius=50.0, thickness=4.9)
    assert not pressure.valid_thin_cylinder(radius=50.0, thickness=5.0)


def test_no_pressure_stores_no_energy() -> None:
    assert pressure.stored_gas_energy_j(gauge_pressure=0.0, volume=1e6) == 0
    # Isothermal work of the same gas is an upper bound: p V ln(p / p0).
    energy = pressure.stored_gas_energy_j(gauge_pressure=0.5, volume=1e6)
    assert 0 < energy < 0.6 * 1e3 * np.log(6)
    assert pressure.valid_water_head(gauge_pressure=0.0049)
    assert not pressure.valid_water_head(gauge_pressure=0.005)
