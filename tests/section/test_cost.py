"""Mass, time and money of prints by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from kb.loading import load_knowledge_base
from recommender.cost import cost_of, volumes_of
from recommender.limit_states.form_model import Block, Envelope
from recommender.section.core import CoreRatios
from recommender.section.printed import Skins

KNOWLEDGE = load_knowledge_base()


def block(walls: float, layers: float, density: float, line: float = 0.5, height: float = 0.2) -> Block:
    one = np.ones(1)
    sizes = Skins(walls * one, layers * one, layers * one, line * one)
    ratio = density * one
    return Block("flat", sizes, CoreRatios(ratio, ratio, ratio, ratio, one, ratio), height * one, 0.5 * one)


BAR = Envelope(footprint=800.0, perimeter=180.0, height=4.0, box=(80.0, 10.0, 4.0), capped=800.0)


def test_volumes_of_a_flat_bar() -> None:
    # 80 x 10 x 4, walls 1 mm, 3 layers of 0.2 each side, 20 %: inside 78 x 8 = 624 mm^2.
    # Walls (800 - 624) x 4 = 704; layers 624 x 1.2 = 748.8; infill 624 x 2.8 x 0.2 = 349.44 mm^3.
    laid = volumes_of(BAR, block(1.0, 0.6, 0.2))
    found = tuple(float(v[0]) for v in (laid.walls, laid.layers, laid.infill))
    assert found == pytest.approx((704.0, 748.8, 349.44))


def test_time_and_money_of_a_flat_bar() -> None:
    # Bead 0.3 x 0.2 + pi 0.2^2 / 4 = 0.0914159 mm^2. Mean speeds on the medium machine (4000 mm/s^2):
    # walls at 90 over 45 mm: 45 / (0.5 + 0.0225) = 86.124; layers at 80 over 14.142 mm: 14.142 / (0.176777 + 0.02)
    # = 71.869; infill at 150: 14.142 / (0.0942809 + 0.0375) = 107.315. Flow 12 / 0.0914159 = 131 binds nothing.
    # 704 / 7.87310 + 748.8 / 6.56998 + 349.44 / 9.81031 = 89.418 + 113.973 + 35.620 = 239.011 s, x 1.15 = 274.862;
    # 20 layers x 1.5 = 30; above 20 x 8 = 160. With 240 s of start 544.86 s.
    printer = KNOWLEDGE.printers["open_medium"]
    cost = cost_of(BAR, block(1.0, 0.6, 0.2), printer, np.array([1.24]), np.array([20.0]), np.array([12.0]))
    assert float(cost.time_s[0]) == pytest.approx(544.86, abs=0.02)
    # 1802.24 mm^3 x 1.24 = 2.23478 g; 4 V / (pi 1.75^2) = 0.749290 m; 2.23478 g x 20 / kg + 544.86 s x 0.35 / h.
    assert float(cost.mass_g[0]) == pytest.approx(2.23478, rel=1e-5)
    assert float(cost.filament_m[0]) == pytest.approx(0.749290, rel=1e-5)
    assert float(cost.money[0]) == pytest.approx(0.0446956 + 0.0529725, rel=1e-4)


def test_a_slow_plastic_is_held_to_its_flow() -> None:
    # 2 mm^3/s: everything at 2 / 0.0914159 = 21.88 mm/s: 1802.24 / 2 = 901.12 s, x 1.15 + 30 + 240 = 1306.29 s.
    printer = KNOWLEDGE.printers["open_medium"]
    cost = cost_of(BAR, block(1.0, 0.6, 0.2), printer, np.array([1.2]), np.array([40.0]), np.array([2.0]))
    assert float(cost.time_s[0]) == pytest.approx(1306.29, abs=0.01)


def test_small_layers_wait() -> None:
    # 4 x 4 x 10 mm: 50 layers of well below 8 s each: 400 s + 240 s.
    post = Envelope(footprint=16.0, perimeter=16.0, height=10.0, box=(4.0, 4.0, 10.0), capped=16.0)
    printer = KNOWLEDGE.printers["open_medium"]
    cost = cost_of(post, block(1.0, 0.6, 0.2), printer, np.array([1.2]), np.array([40.0]), np.array([12.0]))
    assert float(cost.time_s[0]) == pytest.approx(640.0)


def test_support_is_plastic_and_time_but_not_mass_of_the_part() -> None:
    printer = KNOWLEDGE.printers["open_medium"]
    supported = Envelope(800.0, 180.0, 4.0, (80.0, 10.0, 4.0), 800.0, support_mm3=2000.0)
    arguments = (block(1.0, 0.6, 0.2), printer, np.array([1.24]), np.array([20.0]), np.array([12.0]))
    plain, held = cost_of(BAR, *arguments), cost_of(supported, *arguments)
    assert float(held.mass_g[0]) == float(plain.mass_g[0])
    # 0.15 x 2000 = 300 mm^3 more at the speed of infill: 300 / 9.81031 x 1.15 = 35.167 s.
    assert float(held.time_s[0] - plain.time_s[0]) == pytest.approx(35.167, abs=0.01)
    assert float(held.filament_m[0] / plain.filament_m[0]) == pytest.approx(2102.24 / 1802.24)


def _box(long: float, wide: float, tall: float) -> Envelope:
    return Envelope(long * wide, 2 * (long + wide), tall, (long, wide, tall), long * wide)


@pytest.mark.parametrize(
    ("long", "wide", "tall"), [(30.0, 20.0, 50.0), (90.0, 7.0, 12.0), (25.0, 25.0, 25.0)]
)
def test_hollow_and_solid_boxes_are_exact(long: float, wide: float, tall: float) -> None:
    # Hollow: outside minus the inner box; solid: all of it, whether by walls, layers or infill.
    hollow = volumes_of(_box(long, wide, tall), block(1.0, 0.8, 0.0)).total
    inner = (long - 2) * (wide - 2) * (tall - 1.6)
    assert float(hollow[0]) == pytest.approx(long * wide * tall - inner)
    for settings in ((100.0, 0.8, 0.2), (1.0, 100.0, 0.2), (1.0, 0.8, 1.0)):
        assert float(volumes_of(_box(long, wide, tall), block(*settings)).total[0]) == pytest.approx(
            long * wide * tall
        )


def test_round_outlines_are_exact() -> None:
    # Disc of 20 mm: what walls of 1.5 leave is pi/4 17^2; walls of 10 mm fill it.
    disc = Envelope(100 * math.pi, 20 * math.pi, 10.0, (20.0, 20.0, 10.0), 100 * math.pi)
    laid = volumes_of(disc, block(1.5, 0.0, 0.0))
    assert float(laid.walls[0]) == pytest.approx(math.pi / 4 * (400 - 289) * 10)
    assert float(volumes_of(disc, block(10.0, 0.0, 0.0)).walls[0]) == pytest.approx(1000 * math.pi)
