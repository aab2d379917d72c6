"""Torsion against the exact series for a rectangle and a 2-D warping finite-element solution."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.mechanics import section_properties, torsion


def exact_rectangle(long: float, short: float) -> tuple[float, float]:
    """Torsion constant and torsion modulus by Saint-Venant's series (Timoshenko and Goodier, art. 109)."""
    n = np.arange(1, 200, 2)
    x = n * np.pi * long / (2 * short)
    constant = long * short**3 / 3 * (1 - 192 * short / (np.pi**5 * long) * np.sum(np.tanh(x) / n**5))
    sech = 2 * np.exp(-x) / (1 + np.exp(-2 * x))
    stress = short * (1 - 8 / np.pi**2 * np.sum(sech / n**2))  # per G times twist rate
    return constant, constant / stress


@pytest.mark.parametrize("ratio", [1.0, 1.2, 1.5, 2.0, 3.0, 5.0, 10.0, 40.0])
def test_rectangle_matches_the_exact_series(ratio: float) -> None:
    constant, modulus = exact_rectangle(3.0 * ratio, 3.0)
    ours = section_properties.rectangle(width=3.0, height=3.0 * ratio)
    # Roark prints both as fits "to within 0.5 %" and "4 %"; we measured them.
    assert ours.torsion_constant == pytest.approx(constant, rel=0.005)
    assert ours.torsion_modulus == pytest.approx(modulus, rel=0.005)


@given(width=st.floats(0.5, 60), height=st.floats(0.5, 60))
def test_the_order_of_the_sides_does_not_matter(width: float, height: float) -> None:
    here = torsion.rectangle_torsion_stress(torque=500.0, width=width, height=height)
    there = torsion.rectangle_torsion_stress(torque=500.0, width=height, height=width)
    assert here == pytest.approx(there, rel=1e-12)


# 2-D Saint-Venant warping finite elements: width, height, wall, layers, core over skin shear modulus,
# torsional rigidity in N mm^2 for a skin shear modulus of 900 MPa.
FINITE_ELEMENTS = [
    (20, 10, 1.2, 1.0, 0.0001, 2.039e6),
    (20, 10, 1.2, 1.0, 0.02, 2.091e6),
    (20, 10, 1.2, 1.0, 0.1, 2.284e6),
    (20, 10, 1.2, 1.0, 0.3, 2.717e6),
    (20, 10, 1.2, 1.0, 1.0, 4.116e6),
    (20, 20, 0.8, 0.8, 0.0001, 5.203e6),
    (20, 20, 0.8, 0.8, 0.02, 5.555e6),
    (20, 20, 0.8, 0.8, 0.1, 6.879e6),
    (20, 20, 0.8, 0.8, 0.3, 9.95e6),
    (20, 20, 0.8, 0.8, 1.0, 20.24e6),
    (30, 8, 1.6, 0.8, 0.0001, 1.951e6),
    (30, 8, 1.6, 0.8, 0.02, 1.994e6),
    (30, 8, 1.6, 0.8, 0.1, 2.157e6),
    (30, 8, 1.6, 0.8, 0.3, 2.542e6),
    (30, 8, 1.6, 0.8, 1.0, 3.834e6),
    (20, 10, 2.4, 2.0, 0.0001, 3.241e6),
    (20, 10, 2.4, 2.0, 0.02, 3.265e6),
    (20, 10, 2.4, 2.0, 0.1, 3.354e6),
    (20, 10, 2.4, 2.0, 0.3, 3.545e6),
    (20, 10, 2.4, 2.0, 1.0, 4.116e6),
]


@pytest.mark.parametrize(("width", "height", "wall", "layers", "ratio", "rigidity"), FINITE_ELEMENTS)
def test_boxes_are_within_five_percent_of_finite_elements(
    width: float, height: float, wall: float, layers: float, ratio: float, rigidity: float
) -> None:
    box = {"width": width, "height": height, "wall_thickness": wall, "top_bottom_thickness": layers}
    moduli = {"skin_shear_modulus": 900.0, "core_shear_modulus": 900.0 * ratio}
    assert torsion.torsional_rigidity(**box, **moduli) == pytest.approx(rigidity, rel=0.05)
    # The two forms enclose the truth: Bredt's below, the subtraction above (0.3 % for four printed digits).
    assert torsion.torsional_rigidity_bredt(**box, **moduli) < rigidity
    assert torsion.torsional_rigidity_subtraction(**box, **moduli) > 0.997 * rigidity


@given(width=st.floats(4, 40), height=st.floats(4, 40), core=st.floats(0, 900))
def test_where_the_walls_meet_the_bar_is_solid(width: float, height: float, core: float) -> None:
    rigidity = torsion.torsional_rigidity(
        width=width,
        height=height,
        wall_thickness=width / 2,
        top_bottom_thickness=height / 2,
        skin_shear_modulus=900.0,
        core_shear_modulus=core,
    )
    solid = 900 * section_properties.rectangle_torsion_constant(width=width, height=height)
    assert rigidity == pytest.approx(solid, rel=1e-9)


def test_a_slit_tube_is_far_softer_than_a_closed_one() -> None:
    # Thin tube of mid-line diameter d: closed J = pi d^3 t / 4, slit J = pi d t^3 / 3 (Timoshenko).
    closed = torsion.round_torsion_constant(outer_diameter=20.5, inner_diameter=19.5)
    slit = torsion.open_torsion_constant(lengths=[np.pi * 20], thicknesses=[0.5])
    assert closed / slit == pytest.approx(3 / 4 * (20 / 0.5) ** 2, rel=2e-3)


def test_bredt_on_a_square_tube_by_hand() -> None:
    # Square mid-line s, wall t: J = s^3 t; s = 18, t = 2 gives 11664 mm^4.
    constant = torsion.bredt_torsion_constant(
        width=20.0, height=20.0, wall_thickness=2.0, top_bottom_thickness=2.0
    )
    assert constant == pytest.approx(11664)


def test_round_rod_with_a_core_is_exact_in_its_limits() -> None:
    rod = {"outer_diameter": 20.0, "core_outer_diameter": 16.0, "skin_shear_modulus": 900.0}
    solid = 900 * np.pi * 20**4 / 32
    assert torsion.round_torsional_rigidity(**rod, core_shear_modulus=900.0) == pytest.approx(solid)
    hollow = torsion.round_torsional_rigidity(**rod, core_shear_modulus=0.0)
    assert hollow == pytest.approx(900 * np.pi * (20**4 - 16**4) / 32)
    # Asymmetric by hand: tube 20 / 8 with a core ring 16 / 10 at a third of the modulus.
    tube = torsion.round_torsional_rigidity(
        **rod, core_shear_modulus=300.0, inner_diameter=8.0, core_inner_diameter=10.0
    )
    assert tube == pytest.approx(np.pi / 32 * (900 * (20**4 - 8**4) - 600 * (16**4 - 10**4)))


def test_round_layers_carry_the_whole_torque() -> None:
    rigidity = torsion.round_torsional_rigidity(
        outer_diameter=20.0, core_outer_diameter=16.0, skin_shear_modulus=900.0, core_shear_modulus=90.0
    )
    radii = np.linspace(0, 10, 20001)[1:] - 0.00025
    moduli = np.where(radii < 8, 90.0, 900.0)
    stress = torsion.round_layer_torsion_stress(
        torque=1500.0, radius=radii, shear_modulus=moduli, torsional_rigidity=rigidity
    )
    assert np.sum(stress * radii * 2 * np.pi * radii * 0.0005) == pytest.approx(1500, rel=1e-3)


def test_solid_round_bar_by_hand() -> None:
    # 16 T / (pi D^3): 16 x 1000 / (pi x 1000) = 5.09296 MPa.
    assert torsion.round_torsion_stress(torque=1000.0, outer_diameter=10.0) == pytest.approx(16 / np.pi)
