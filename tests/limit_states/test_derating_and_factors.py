"""What heat, time, repeats, water and doubt leave, and what factor is wanted on it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from one_candidate import KNOWLEDGE, multiples, plastic, problem_of

from kb.design_values import engine_values
from recommender.duty.reading import duty_from
from recommender.evaluation import cases_of
from recommender.limit_states.derating import Derating, derating
from recommender.limit_states.required import across_modifier, required_factor
from recommender.suggest import assess

BAR = {
    "kind": "bar",
    "length": "80 mm",
    "section": {"shape": "rectangle", "width": "10 mm", "thickness": "4 mm"},
}


def left(load: dict[str, Any], usual: float = 23.0, peak: float = 23.0, **more: Any) -> Derating:
    duty = duty_from(
        {"part": "part", "form": BAR, "loads": [{"action": "pull", "force": "100 N", **load}], **more}
    )
    values = plastic(
        sustained_1000_h_23_c=0.4, sustained_1_year_23_c=0.3, sustained_1000_h_40_c=0.2, sustained_1_year_40_c=0.15,
        fatigue_fraction=0.1, fatigue_slope=-0.1, wet_strength_factor=0.9, wet_modulus_factor=0.8,
        weather_factor_years=0.5, softening_c=100.0,
    )  # fmt: skip
    values = replace(values, strength_curve_grade="A", strength_curve=((23.0, 1.0, 1.0, 1.0), (83.0, 0.4, 0.4, 0.4)),
                     modulus_curve=((23.0, 1.0, 1.0, 1.0), (83.0, 0.4, 0.4, 0.4)))  # fmt: skip
    return derating(values, duty, duty.loads[0], usual, peak)


def test_a_short_load_in_a_room_loses_nothing() -> None:
    assert left({"kind": "static"}).strength == pytest.approx(1.0)


def test_heat_is_read_from_the_curve_at_the_peak() -> None:
    # Linear from 1 at 23 to 0.4 at 83 °C: 0.7 at 53 °C.
    assert left({"kind": "static"}, 23.0, 53.0).strength == pytest.approx(0.7)
    assert left({"kind": "static", "temperature": "33 °C"}, 23.0, 53.0).strength == pytest.approx(0.9)


def test_a_steady_load_fades_with_the_logarithm_of_time() -> None:
    # From 1 at 0.1 h to 0.4 at 1000 h: 10 h is half of the way in log time: 0.7; a year 0.3.
    assert left({"kind": "sustained", "duration": "10 h"}).strength == pytest.approx(0.7)
    assert left({"kind": "sustained", "duration": "1000 h"}).strength == pytest.approx(0.4)
    assert left({"kind": "sustained", "duration": "1 year"}).strength == pytest.approx(0.3, rel=1e-3)


def test_heat_and_time_are_one_check() -> None:
    # Usual 23, peak 53 °C, 1000 h: long and cool 0.4; short and hot: 0.7 x what 10 h at 53 °C leave. At 40 °C 10 h
    # leave 0.6 against 0.7 at 23: 0.7 (0.6 / 0.7)^(30 / 17) = 0.533281; 0.7 x 0.533281 = 0.373297. The worse counts.
    found = left({"kind": "sustained", "duration": "1000 h"}, 23.0, 53.0)
    assert found.strength == pytest.approx(0.373297, rel=1e-5)


def test_repeats_water_weather_and_doubt_multiply() -> None:
    # 1e4 repeats: 0.1 x (1e4 / 1e6)^-0.1 = 0.15849; swinging both ways x 3.15 / 4.33.
    repeats = left({"kind": "cyclic", "cycles": 10**4})
    assert repeats.strength == pytest.approx(0.158489, rel=1e-5)
    both_ways = left({"kind": "cyclic", "cycles": 10**4, "fully_reversed": True})
    assert both_ways.strength == pytest.approx(0.158489 * 3.15 / 4.33, rel=1e-5)
    outside = left({"kind": "static"}, place={"outdoors": True, "water": "wet"}, material_trust="label_only")
    assert outside.strength == pytest.approx(0.9 * 0.5 * 0.8)
    assert outside.strain == pytest.approx(0.5 * 0.8)  # water does not stiffen a strain's limit


def test_no_second_halving_near_softening() -> None:
    # Within 30 K of softening an unmeasured curve counts as 0.5 (D33), and only once: 0.9 becomes 0.5, 0.4 stays.
    duty = duty_from({"part": "p", "form": BAR, "loads": [{"action": "pull", "force": "1 N"}]})
    for curve, wanted in ((0.9, 0.5), (0.4, 0.4)):
        values = replace(
            plastic(softening_c=80.0), strength_curve=((23.0, 1.0, 1.0, 1.0), (60.0, curve, curve, curve)),
            strength_curve_grade="C",
        )  # fmt: skip
        assert derating(values, duty, duty.loads[0], 23.0, 60.0).strength == pytest.approx(wanted)


def _required(kind: str, consequence: str, fraction: float) -> float:
    sheet = {"part": "p", "form": BAR, "loads": [{"action": "pull", "force": "1 N"}],
             "people": {"if_it_breaks": consequence}}  # fmt: skip
    return required_factor(duty_from(sheet), kind, fraction, KNOWLEDGE).factor


def test_factors_of_the_table_are_met_without_counting_twice() -> None:
    # Table: static 2 / 3 / 4.5, sustained 4 / 6 / 9, cyclic 4 / 6 / 10, all on the short strength. On the derated
    # strength that is kind x fraction left, and never below the static factor.
    assert [_required("static", c, 1.0) for c in ("no_harm", "nuisance", "minor_injury")] == [2.0, 3.0, 4.5]
    assert _required("sustained", "nuisance", 1.0) == 6.0  # nothing taken off yet: the whole table factor
    assert _required("sustained", "nuisance", 0.7) == pytest.approx(4.2)
    assert _required("sustained", "nuisance", 0.3) == 3.0
    assert _required("cyclic", "minor_injury", 0.6) == pytest.approx(6.0)
    # A blow's own force is at least twice the still one already.
    assert _required("impact", "minor_injury", 1.0) == 4.5


@pytest.mark.parametrize("kind", ["sustained", "cyclic"])
@pytest.mark.parametrize("fraction", [0.05, 0.3, 0.5, 0.8, 1.0])
def test_short_strength_over_load_is_never_below_the_table(kind: str, fraction: float) -> None:
    # Passing means fraction x S >= required x load, so S / load >= required / fraction >= the table's factor.
    for consequence, table in (
        ("no_harm", 4.0),
        ("nuisance", 6.0),
        ("minor_injury", {"sustained": 9.0}.get(kind, 10.0)),
    ):
        assert _required(kind, consequence, fraction) / fraction >= table - 1e-9


def test_the_factor_doubles_across_the_layers_only_where_nobody_measured() -> None:
    # PLA: 7 spools, PETG: 10 spools pulled upright (kb, carter_2026); ASA: an estimate.
    doubled = {
        key: across_modifier(engine_values(KNOWLEDGE.materials[key], KNOWLEDGE), False, KNOWLEDGE)
        for key in ("pla", "petg", "asa", "pc")
    }
    assert doubled == {"pla": 1.0, "petg": 1.0, "asa": 2.0, "pc": 2.0}


def test_only_what_crosses_the_layers_is_doubled() -> None:
    sheet = {"form": BAR, "loads": [{"kind": "static", "action": "pull", "force": "10 N"}]}
    problem = problem_of(sheet)
    from one_candidate import candidate

    flat, upright = (cases_of(problem, candidate(), o)[0] for o in ("flat", "upright"))
    assert float(flat.required.reshape(-1)[0]) == float(upright.required.reshape(-1)[0]) == 2.0
    asa = engine_values(KNOWLEDGE.materials["asa"], KNOWLEDGE)
    other = replace(problem, values={"pla": replace(asa, material="asa")})
    assert float(cases_of(other, candidate(), "upright")[0].required_across.reshape(-1)[0]) == 4.0


def test_spread_of_the_measured_ratio_widens_the_interval_instead() -> None:
    sheet = duty_from(
        {"part": "p", "form": BAR, "loads": [{"kind": "static", "action": "pull", "force": "10 N"}]}
    )
    loads = {
        o: assess(sheet, {"material": "pla", "orientation": o}, KNOWLEDGE).choice for o in ("flat", "upright")
    }
    flat, upright = loads["flat"], loads["upright"]
    assert flat is not None and upright is not None
    spread = {o: c.failure_load.high / c.failure_load.low for o, c in (("flat", flat), ("upright", upright))}
    assert spread["upright"] > 1.5 * spread["flat"]


def test_a_plastic_in_a_damp_room_is_weaker() -> None:
    load = {"action": "pull", "force": "500 N"}
    assert multiples(BAR, load, numbers={"conditioned_strength_factor": 0.7})["tension"] == pytest.approx(2.8)
