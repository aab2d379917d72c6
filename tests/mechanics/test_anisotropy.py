"""Raster, laminate and failure criteria: limits, Mohr's circle, matrix rotation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.mechanics import anisotropy

PLY = {"modulus_along": 2600.0, "modulus_across": 1500.0, "shear_modulus": 700.0, "poisson_ratio": 0.36}
BOND = {"strength_across": 30.0, "shear_strength": 22.0}


def laminate_by_matrices(angle_deg: float) -> tuple[float, float]:
    """Young's and shear modulus of a +- laminate by rotating the stiffness matrix."""
    e1, e2, g, nu = PLY.values()
    compliance = np.array([[1 / e1, -nu / e1, 0], [-nu / e1, 1 / e2, 0], [0, 0, 1 / g]])
    total = np.zeros((3, 3))
    for sign in (1, -1):
        c, s = np.cos(np.radians(angle_deg)), sign * np.sin(np.radians(angle_deg))
        stress = np.array(
            [[c * c, s * s, 2 * c * s], [s * s, c * c, -2 * c * s], [-c * s, c * s, c * c - s * s]]
        )
        strain = np.array(
            [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]]
        )
        total += np.linalg.inv(stress) @ np.linalg.inv(compliance) @ strain / 2
    flexibility = np.linalg.inv(total)
    return 1 / flexibility[0, 0], 1 / flexibility[2, 2]


@pytest.mark.parametrize("angle", [0.0, 20.0, 45.0, 65.0, 90.0])
def test_angle_ply_matches_matrix_rotation(angle: float) -> None:
    young, shear = laminate_by_matrices(angle)
    assert anisotropy.angle_ply_modulus(**PLY, angle_deg=angle) == pytest.approx(young, rel=1e-9)
    assert anisotropy.angle_ply_shear_modulus(**PLY, angle_deg=angle) == pytest.approx(shear, rel=1e-9)


def test_raster_ends_at_the_two_moduli() -> None:
    assert anisotropy.raster_modulus(**PLY, angle_deg=0.0) == pytest.approx(2600)
    assert anisotropy.raster_modulus(**PLY, angle_deg=90.0) == pytest.approx(1500)
    assert anisotropy.cross_ply_modulus(modulus_along=2600.0, modulus_across=1500.0) == 2050


@given(angle=st.floats(0, 90), modulus=st.floats(100, 5000), nu=st.floats(0, 0.45))
def test_an_isotropic_ply_has_no_direction(angle: float, modulus: float, nu: float) -> None:
    ply = {
        "modulus_along": modulus,
        "modulus_across": modulus,
        "shear_modulus": modulus / (2 * (1 + nu)),
        "poisson_ratio": nu,
    }
    assert anisotropy.raster_modulus(**ply, angle_deg=angle) == pytest.approx(modulus)
    assert anisotropy.angle_ply_modulus(**ply, angle_deg=angle) == pytest.approx(modulus)


def test_strength_criteria_end_at_the_two_strengths() -> None:
    bond = {"strength_along": 50.0, **BOND}
    for criterion in (anisotropy.tsai_hill_strength, anisotropy.maximum_stress_strength):
        assert criterion(**bond, angle_deg=np.array([0.0, 90.0])) == pytest.approx([50.0, 30.0])


@given(angle=st.floats(0, 90))
def test_tsai_hill_is_never_above_maximum_stress(angle: float) -> None:
    bond = {"strength_along": 50.0, **BOND}
    hill = anisotropy.tsai_hill_strength(**bond, angle_deg=angle)
    assert hill <= anisotropy.maximum_stress_strength(**bond, angle_deg=angle) * (1 + 1e-9)


def test_layer_plane_stresses_follow_mohrs_circle() -> None:
    normal, shear = anisotropy.layer_plane_stresses(axial_stress=40.0, angle_deg=30.0)
    assert normal == pytest.approx(10)
    assert shear == pytest.approx(40 * np.sqrt(3) / 4)


def test_interlayer_alone_in_tension_and_in_shear() -> None:
    assert anisotropy.interlayer_utilisation(normal_stress=30.0, shear_stress=0.0, **BOND) == 1
    assert anisotropy.interlayer_utilisation(normal_stress=0.0, shear_stress=-22.0, **BOND) == 1
    assert np.isinf(anisotropy.interlayer_reserve(normal_stress=0.0, shear_stress=0.0, **BOND))
    assert np.isinf(anisotropy.interlayer_reserve(normal_stress=-9.0, shear_stress=1.0, **BOND))


@given(normal=st.floats(-60, 60), shear=st.floats(-40, 40), load=st.floats(0.1, 9))
def test_utilisation_grows_in_proportion_to_the_load(normal: float, shear: float, load: float) -> None:
    one = anisotropy.interlayer_utilisation(normal_stress=normal, shear_stress=shear, **BOND)
    many = anisotropy.interlayer_utilisation(normal_stress=load * normal, shear_stress=load * shear, **BOND)
    assert many == pytest.approx(load * one, abs=1e-12)


@given(pressure=st.floats(0.1, 60))
def test_compression_raises_the_shear_that_slides_the_layers(pressure: float) -> None:
    limit = anisotropy.interlayer_shear_strength(normal_stress=-pressure, shear_strength=22.0)
    used = anisotropy.interlayer_utilisation(normal_stress=-pressure, shear_stress=limit, **BOND)
    assert used == pytest.approx(1)
    assert limit > 22
    assert anisotropy.interlayer_shear_strength(normal_stress=pressure, shear_strength=22.0) == 22


def test_failure_index_is_the_square() -> None:
    # (15/30)^2 + (11/22)^2 = 0.5.
    index = anisotropy.interlayer_failure_index(normal_stress=15.0, shear_stress=11.0, **BOND)
    assert index == pytest.approx(0.5)


def test_in_plane_takes_the_worst_of_three() -> None:
    strength = {"strength_along": 50.0, "strength_across": 25.0, "shear_strength": 20.0}
    assert anisotropy.in_plane_utilisation(
        stress_along=-10.0, stress_across=20.0, shear_stress=-5.0, **strength
    ) == pytest.approx(0.8)
    assert anisotropy.in_plane_utilisation(
        stress_along=-45.0, stress_across=20.0, shear_stress=-5.0, **strength
    ) == pytest.approx(0.9)
    assert anisotropy.in_plane_utilisation(
        stress_along=0.0, stress_across=1.0, shear_stress=-19.0, **strength
    ) == pytest.approx(0.95)


# Kuznetsov and others, Polymers 10(3):313, 2018, Table 1: nozzle, layer height in mm, bending strength of
# PLA across layers in MPa.
KUZNETSOV = [
    (0.8, 0.15, 70.7), (0.8, 0.2, 66.8), (0.8, 0.4, 48.1), (0.8, 0.6, 31.3), (0.6, 0.1, 68.0),
    (0.6, 0.15, 62.7), (0.6, 0.2, 60.4), (0.6, 0.25, 52.6), (0.6, 0.3, 50.5), (0.6, 0.35, 49.9),
    (0.6, 0.4, 39.6), (0.6, 0.45, 26.0), (0.6, 0.5, 20.2), (0.6, 0.6, 18.2), (0.4, 0.06, 67.8),
    (0.4, 0.1, 59.9), (0.4, 0.2, 50.8), (0.4, 0.3, 38.5), (0.4, 0.35, 25.6), (0.4, 0.4, 17.5),
]  # fmt: skip


def test_the_layer_height_line_is_the_fit_to_its_table() -> None:
    nozzle, layer, strength = np.array(KUZNETSOV).T
    slope, intercept = np.polyfit(layer / nozzle, strength, 1)
    assert intercept == pytest.approx(anisotropy.INTERLAYER_INTERCEPT, abs=0.05)
    assert -slope == pytest.approx(anisotropy.INTERLAYER_SLOPE, abs=0.05)


def test_layer_height_factor_and_its_range() -> None:
    ratios = np.array([0.14, 0.15, 0.5, 1.0, 1.01])
    factor = anisotropy.layer_height_factor(layer_height=ratios * 0.6, nozzle_diameter=0.6)
    assert factor[2] == pytest.approx(1)
    # By hand at h = d: 17.1 / 48.5.
    assert factor[3] == pytest.approx(17.1 / 48.5)
    valid = anisotropy.valid_layer_height(layer_height=ratios * 0.6, nozzle_diameter=0.6)
    assert list(valid) == [False, True, True, True, False]
