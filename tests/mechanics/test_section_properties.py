"""Solid sections by hand, by numerical integration and against each other."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.mechanics import layered_section, section_properties


def test_an_asymmetric_rectangle_by_hand() -> None:
    section = section_properties.rectangle(width=4.0, height=12.0)
    assert section.area == 48
    assert section.second_moment_height == pytest.approx(576)  # 4 x 1728 / 12
    assert section.second_moment_width == pytest.approx(64)  # 12 x 64 / 12
    assert section.section_modulus_height == pytest.approx(96)
    assert section.section_modulus_width == pytest.approx(32)
    assert section.shear_area_height == section.shear_area_width == pytest.approx(40)
    assert section.peak_shear_factor == 1.5


def test_a_tube_by_hand() -> None:
    section = section_properties.tube(outer_diameter=20.0, inner_diameter=16.0)
    assert section.area == pytest.approx(np.pi * 36)
    assert section.second_moment_height == pytest.approx(4637.0, abs=0.05)  # pi (160000 - 65536) / 64
    assert section.second_moment_width == section.second_moment_height
    assert section.section_modulus_height == section.section_modulus_width == pytest.approx(463.70, abs=5e-3)
    assert section.torsion_constant == pytest.approx(9274.0, abs=0.05)
    assert section.torsion_modulus == pytest.approx(927.40, abs=5e-3)
    assert section.peak_shear_factor == 2
    # Cowper at m = 0.8, nu = 0.35: 8.1 x 1.64^2 / (9.1 x 1.64^2 + 24.2 x 0.64) = 0.54515.
    assert (
        section.shear_area_height == section.shear_area_width == pytest.approx(0.54515 * np.pi * 36, rel=1e-4)
    )


def test_a_tube_without_a_bore_is_a_round_bar() -> None:
    bar = section_properties.round_bar(diameter=14.0)
    tube = section_properties.tube(outer_diameter=14.0, inner_diameter=0.0)
    for name in (
        "area",
        "second_moment_height",
        "section_modulus_width",
        "torsion_constant",
        "torsion_modulus",
    ):
        assert getattr(bar, name) == pytest.approx(getattr(tube, name))
    # 0.9 is the usual rounded coefficient; Cowper's is 0.890 at nu = 0.35.
    assert bar.shear_area_height == bar.shear_area_width == pytest.approx(tube.shear_area_height, rel=0.012)
    assert bar.peak_shear_factor == pytest.approx(4 / 3)
    assert bar.second_moment_width == bar.second_moment_height
    assert bar.section_modulus_height == pytest.approx(np.pi * 14**3 / 32)


def test_cowpers_coefficient_in_its_printed_limits() -> None:
    # Cowper, 1966: solid circle 6 (1 + nu) / (7 + 6 nu), thin tube 2 (1 + nu) / (4 + 3 nu).
    solid = section_properties.round_shear_coefficient(diameter_ratio=0.0, poisson_ratio=0.3)
    thin = section_properties.round_shear_coefficient(diameter_ratio=1.0, poisson_ratio=0.3)
    assert solid == pytest.approx(6 * 1.3 / 8.8)
    assert thin == pytest.approx(2 * 1.3 / 4.9)


@given(width=st.floats(1, 50), height=st.floats(1, 50))
def test_swapping_the_sides_swaps_the_axes(width: float, height: float) -> None:
    here = section_properties.rectangle(width=width, height=height)
    there = section_properties.rectangle(width=height, height=width)
    assert here.second_moment_height == there.second_moment_width
    assert here.section_modulus_width == there.section_modulus_height
    assert here.torsion_constant == pytest.approx(there.torsion_constant, rel=1e-12)
    assert here.torsion_modulus == pytest.approx(there.torsion_modulus, rel=1e-12)


def test_a_vanishing_side_has_no_torsion_constant() -> None:
    assert section_properties.rectangle_torsion_constant(width=0.0, height=5.0) == 0
    assert section_properties.rectangle_torsion_constant(width=0.0, height=0.0) == 0


def test_round_shear_rigidity_by_hand_and_below_the_solid_bar() -> None:
    # D = 20, t = 2: 800 x 0.54515 x 113.097 + 80 x 0.89011 x 201.062 = 63641.
    rod = {"diameter": 20.0, "skin_thickness": 2.0, "skin_shear_modulus": 800.0}
    rigidity = layered_section.round_shear_rigidity(**rod, core_shear_modulus=80.0)
    assert rigidity == pytest.approx(63641, rel=1e-4)
    same = layered_section.round_shear_rigidity(**rod, core_shear_modulus=800.0)
    solid = 800 * section_properties.round_bar(diameter=20.0).shear_area_height
    assert 0.8 * solid < same < solid


def test_tube_axial_rigidity_by_hand() -> None:
    # 20 / 12 mm, 0.8 mm skins, core ring 18.4 / 13.6 at a tenth: pi/4 (2000 x 256 - 1800 x 153.6) = 184982.
    rigidity = layered_section.tube_axial_rigidity(
        outer_diameter=20.0, inner_diameter=12.0, skin_thickness=0.8, skin_modulus=2000.0, core_modulus=200.0
    )
    assert rigidity == pytest.approx(np.pi / 4 * (2000 * 256 - 1800 * (18.4**2 - 13.6**2)))
    assert rigidity == pytest.approx(184982, rel=1e-4)
