"""The printed section by hand, in its limits, and against finite elements."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.loading import load_knowledge_base
from recommender.mechanics import section_properties
from recommender.section.core import core_ratios
from recommender.section.lie import EDGE_THICKNESS, FLAT_THICKNESS, FLAT_WIDTH, UPRIGHT, member_lie
from recommender.section.printed import RectangularSection, RoundSection, Skins
from recommender.section.strengths import bond_factor

KNOWLEDGE = load_knowledge_base()


def skins(walls: float, layers: float, line: float = 0.4) -> Skins:
    return Skins(*(np.array([value]) for value in (walls, layers, layers, line)))


def core(value: float) -> np.ndarray:
    return np.array([value])


def rectangle(lie: object = FLAT_THICKNESS, walls: float = 1.2, layers: float = 1.0) -> RectangularSection:
    return RectangularSection.printed(10.0, 20.0, skins(walls, layers), lie)  # type: ignore[arg-type]


def test_box_with_core_against_the_vector() -> None:
    # mechanics vector comp_rect_1 over E = 2500 MPa: EA = 1.656e5, EI = 2.3832e6.
    section = rectangle()
    assert float(section.axial(core(0.05))[0]) == pytest.approx(1.656e5 / 2500, rel=1e-4)
    assert float(section.flexural(core(0.05))[0]) == pytest.approx(2.3832e6 / 2500, rel=1e-4)
    assert float(section.core_area[0]) == pytest.approx(17.6 * 8.0)


def test_faces_go_where_the_lie_puts_them() -> None:
    # 10 deep, 20 wide, walls 1.2, layers 1.0. Flat: layers at the ends of the depth; on edge: walls; upright: walls.
    for lie, depth, breadth in (
        (FLAT_THICKNESS, 1.0, 1.2), (EDGE_THICKNESS, 1.2, 1.0), (FLAT_WIDTH, 1.2, 1.0), (UPRIGHT, 1.2, 1.2),
    ):  # fmt: skip
        section = rectangle(lie)
        assert (float(section.depth_face[0]), float(section.breadth_face[0])) == (depth, breadth)
    assert member_lie("edge", "width").depth_faces == "layers"
    assert FLAT_THICKNESS.turned.depth_faces == "walls" and not FLAT_THICKNESS.turned.across


def test_the_thinner_of_top_and_bottom_counts() -> None:
    one = np.array([1.0])
    uneven = Skins(1.2 * one, 1.0 * one, 0.4 * one, 0.4 * one)
    assert float(RectangularSection.printed(10.0, 20.0, uneven, FLAT_THICKNESS).depth_face[0]) == 0.4


def test_skins_that_nearly_meet_are_solid() -> None:
    # Room of less than half a line (0.2 mm) is filled: 2 x 4.91 of 10 mm leaves 0.18; 2 x 4.88 leaves 0.24.
    assert float(rectangle(layers=4.91).core_area[0]) == 0.0
    assert float(rectangle(layers=4.88).core_area[0]) > 0.0
    solid = rectangle(walls=12.0)
    assert float(solid.flexural(core(0.01))[0]) == pytest.approx(20 * 1000 / 12)
    assert float(solid.skin_shear_stress(core(0.01), 40.0)[0]) == pytest.approx(1.5 * 40 / 200)


def test_turning_a_section_swaps_its_sides() -> None:
    # EI the other way: (10 x 20^3 - 8 x 17.6^3) / 12 for an empty core.
    turned = rectangle().turned()
    assert float(turned.flexural(core(0.0))[0]) == pytest.approx((10 * 8000 - 8 * 17.6**3) / 12)


FINITE_ELEMENTS = [  # walls, E_c/E_s, core shear in MPa at 50 N: tests/mechanics/test_layered_section.py
    (1.2, 0.01, 0.0377), (1.2, 0.05, 0.1205), (1.2, 0.2, 0.2126), (1.2, 0.5, 0.2674), (1.2, 1.0, 0.3094),
    (0.0, 0.01, 0.2759), (0.0, 0.05, 0.2742), (0.0, 0.2, 0.2768), (1.2, 0.02, 0.0735), (1.2, 0.1, 0.1787),
]  # fmt: skip


@pytest.mark.parametrize(("walls", "ratio", "stress"), FINITE_ELEMENTS)
def test_core_shear_errs_to_the_safe_side_of_finite_elements(
    walls: float, ratio: float, stress: float
) -> None:
    section = RectangularSection(10.0, 20.0, np.array([1.0]), np.array([walls]))
    assert 1.0 <= float(section.core_shear_stress(core(ratio), 50.0)[0]) / stress <= 1.4


@given(st.floats(0.4, 4.9), st.floats(0.4, 4.9), st.floats(0.001, 1.0))
def test_core_shear_never_grows_with_thicker_skins(first: float, second: float, ratio: float) -> None:
    thin, thick = sorted((first, second))
    for lie in (FLAT_THICKNESS, EDGE_THICKNESS):
        low, high = (
            float(
                RectangularSection.printed(10.0, 20.0, skins(t, t), lie).core_shear_stress(core(ratio), 1.0)[
                    0
                ]
            )
            for t in (thick, thin)
        )
        assert low <= high * (1 + 1e-9)


def test_torsion_of_thin_and_solid_boxes() -> None:
    # Solid: T / (torsion modulus); thin skins within 12 % above Bredt's T / (2 A_m t) (the t^3/3 part counts too).
    solid = rectangle(walls=12.0)
    modulus = section_properties.rectangle_torsion_modulus(width=20.0, height=10.0)
    assert float(solid.torsion_stress(core(0.1), 2000.0)[0]) == pytest.approx(2000.0 / float(modulus))
    thin = rectangle(walls=0.5, layers=0.5)
    bredt = 2000.0 / (2 * 19.5 * 9.5 * 0.5)
    assert 1.0 <= float(thin.torsion_stress(core(1e-9), 2000.0)[0]) / bredt <= 1.12


def test_round_ring() -> None:
    # mechanics vector comp_round over E = 2500: EI = 8.4487e6, EA = 2.076e5 for D = 20, t = 1.2, E_c/E_s = 0.05.
    rod = RoundSection.printed(20.0, 0.0, skins(1.2, 2.0), FLAT_THICKNESS)
    assert float(rod.face[0]) == 1.2  # lying: the thinner of walls and layers all round
    assert float(rod.flexural(core(0.05))[0]) == pytest.approx(8.4487e6 / 2500, rel=1e-4)
    assert float(rod.axial(core(0.05))[0]) == pytest.approx(2.076e5 / 2500, rel=1e-4)
    # An empty ring carries shear as a ring, 2 V / A; solid 4 V / 3 A.
    ring_area = np.pi / 4 * (400 - 17.6**2)
    assert float(rod.skin_shear_stress(core(0.0), 100.0)[0]) == pytest.approx(200.0 / ring_area)
    solid = RoundSection.printed(20.0, 0.0, skins(10.0, 10.0), UPRIGHT)
    assert float(solid.skin_shear_stress(core(0.0), 100.0)[0]) == pytest.approx(400.0 / 3 / (np.pi * 100))


@pytest.mark.parametrize("pattern", sorted(KNOWLEDGE.lattices))
def test_cores_grow_to_the_solid(pattern: str) -> None:
    density = np.array([0.01, 5, 10, 20, 35, 50, 60, 75, 90, 100.0]).reshape(-1, 1)
    found = core_ratios((KNOWLEDGE.lattices[pattern],), density, np.array([[0.45]]))
    for ratio in (found.in_plane, found.build, found.shear_in_plane, found.shear_build):
        values = ratio.reshape(-1)
        assert np.all(np.diff(values) >= 0) and values[-1] == pytest.approx(1.0)
        assert values[0] < 1e-3 and np.all(values <= density.reshape(-1) / 100 + 1e-12)


def test_grid_core_by_hand() -> None:
    # 20 %: 0.8 x (0.6848 x 0.2^1.112 + 0.6436 x 0.2^3.297) / 2 = 0.8 x (0.114366 + 0.003192) / 2 = 0.047023;
    # across the layers 0.8 x 0.2; lines 0.45 mm apart by 2 x 0.45 / 0.2 = 4.5 mm.
    found = core_ratios((KNOWLEDGE.lattices["grid"],), np.array([[20.0]]), np.array([[0.45]]))
    assert float(found.in_plane[0, 0]) == pytest.approx(0.047023, rel=1e-4)
    assert float(found.build[0, 0]) == pytest.approx(0.16)
    assert float(found.spacing_mm[0, 0]) == pytest.approx(4.5)


def test_bond_by_layer_height() -> None:
    # (79.9 - 62.8 x) / 48.5, held at 0.15 and 1: 1.45320, 1, 0.35258.
    assert bond_factor(np.array([0.05, 0.15, 0.5, 1.0, 1.5])) == pytest.approx(
        [1.45320, 1.45320, 1.0, 0.352577, 0.352577], rel=1e-5
    )
