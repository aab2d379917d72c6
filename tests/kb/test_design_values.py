"""Choosing among rival facts: small cases worked by hand, then what the rule gives on our own data."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.design_values import (
    DEFAULT_SPREAD,
    NINE_IN_TEN,
    SPREADS,
    chosen,
    combined,
    curve_of,
    engine_values,
    engine_values_of,
    missing_values,
)
from kb.loading import load_knowledge_base
from kb.schema import Curve, Fact, Material

KNOWLEDGE = load_knowledge_base()
KEYS = sorted(KNOWLEDGE.materials)


def fact(
    grade: Any = "B",
    basis: Any = "compiled",
    source: str = "",
    low: Any = None,
    typical: Any = None,
    high: Any = None,
) -> Fact:
    return Fact("density", low, typical, high, None, "g/cm3", "", source or f"s_{grade}", grade, basis)


def numbers(*facts: Fact) -> tuple[float, float, float, str]:
    value = combined("density", facts)
    return value.low, value.typical, value.high, value.grade


def test_grade_a_gives_the_typical_value_and_rivals_widen_the_interval() -> None:
    assert numbers(fact("C", low=1.0, typical=1.2, high=1.5), fact("A", typical=1.3)) == (1.0, 1.3, 1.5, "A")


def test_a_measurement_comes_before_a_compilation_of_a_better_grade() -> None:
    compiled, measured = fact("A", typical=1.3), fact("B", basis="measured", typical=1.4)
    assert numbers(compiled, measured) == (1.3, 1.4, 1.4, "B")


def test_estimates_come_last_whatever_their_basis() -> None:
    assert numbers(fact("C", basis="measured", typical=2.0), fact("B", typical=1.0))[1:] == (1.0, 2.0, "B")


def test_equals_are_averaged() -> None:
    assert numbers(fact("A", source="x", typical=1.0), fact("A", source="y", typical=2.0)) == (
        1.0,
        1.5,
        2.0,
        "A",
    )


def test_a_narrow_range_stands_for_its_middle() -> None:
    # 1.2 <= 1.25 * 1.0, so the middle 1.1 stands although the estimate says 1.9.
    assert numbers(fact("A", low=1.0, high=1.2), fact("C", typical=1.9)) == (1.0, 1.1, 1.9, "A")


def test_a_wide_range_only_bounds_the_next() -> None:
    # 1.3 > 1.25 * 1.0
    assert numbers(fact("A", low=1.0, high=1.3), fact("C", typical=1.25)) == (1.0, 1.25, 1.3, "C")


def test_a_value_outside_a_wide_range_gives_way_to_its_middle() -> None:
    assert numbers(fact("A", low=1.0, high=2.0), fact("C", typical=2.5)) == (1.0, 1.5, 2.5, "C")


def test_a_value_beyond_a_single_bound_is_moved_to_it() -> None:
    value = combined("density", [fact("A", high=1.0), fact("C", low=0.8, typical=1.2)])
    assert (value.typical, value.grade) == (1.0, "C")
    assert "moved to the bound of s_A" in value.reason


def test_only_wide_ranges_give_their_middle_and_the_worst_grade() -> None:
    assert numbers(fact("A", low=1.0, high=2.0), fact("B", low=1.0, high=3.0)) == (1.0, 2.0, 3.0, "B")


def test_without_a_spread_the_stated_one_is_used() -> None:
    value = combined("tensile_strength_printed_flat", [fact("A", typical=50.0)])
    spread = NINE_IN_TEN * SPREADS["tensile_strength_printed_flat"]
    assert (value.low, value.high) == pytest.approx((50 * (1 - spread), 50 * (1 + spread)))
    assert "is assumed" in value.reason
    other = combined("density", [fact("A", typical=-10.0)])  # a negative value keeps low below high
    spread = NINE_IN_TEN * DEFAULT_SPREAD
    assert (other.low, other.high) == pytest.approx((-10 * (1 + spread), -10 * (1 - spread)))


def test_sources_name_the_best_first_and_once() -> None:
    value = combined("density", [fact("C", typical=1.0), fact("A", typical=1.1), fact("C", typical=1.2)])
    assert value.sources == ("s_A", "s_C")


@given(
    st.lists(
        st.tuples(
            st.sampled_from("ABC"), st.floats(0.1, 10), st.floats(0, 5), st.floats(0, 5), st.integers(0, 6)
        ),
        min_size=1,
        max_size=6,
    )
)
def test_any_facts_give_an_ordered_value_within_them(
    rows: list[tuple[str, float, float, float, int]],
) -> None:
    facts = []
    for number, (grade, low, up, more, shape) in enumerate(rows):
        values = dict(zip(("low", "typical", "high"), (low, low + up, low + up + more), strict=True))
        kept = {name: value for bit, (name, value) in enumerate(values.items()) if (shape + 1) >> bit & 1}
        facts.append(fact(grade, source=f"s{number}", **kept))
    value = combined("density", facts)
    assert value.low <= value.typical <= value.high
    stated = [v for f in facts for v in (f.low, f.typical, f.high) if v is not None]
    assert min(stated) <= value.typical * (1 + 1e-12) and value.typical * (1 - 1e-12) <= max(stated)


# -- a material ------------------------------------------------------------------------------------------


def petg() -> Material:
    return KNOWLEDGE.materials["petg"]


def without(material: Material, *properties: str) -> Material:
    kept = tuple(f for f in material.facts if f.property not in properties)
    return material._replace(facts=kept)


def with_fact(material: Material, prop: str, typical: float, unit: str) -> Material:
    own = Fact(prop, None, typical, None, None, unit, "", "mine", "A", "measured")
    return without(material, prop)._replace(facts=(*without(material, prop).facts, own))


def test_the_first_property_that_says_something_is_taken() -> None:
    value = chosen(petg(), "tensile_strength_printed_flat", "tensile_strength_moulded")
    assert value is not None and value.name == "tensile_strength_printed_flat"
    moulded = chosen(
        without(petg(), "tensile_strength_printed_flat"),
        "tensile_strength_printed_flat",
        "tensile_strength_moulded",
    )
    assert moulded is not None and (moulded.name, moulded.typical) == ("tensile_strength_moulded", 53)
    assert chosen(petg(), "annealing_strength_gain") is None


def test_facts_set_aside_do_not_count() -> None:
    # PETG elongation near 1 % and PLA glass transitions of 107 and 137 degC are set aside as wrong.
    assert engine_values(petg(), KNOWLEDGE).elongation_percent.low >= 3
    pla = engine_values(KNOWLEDGE.materials["pla"], KNOWLEDGE)
    assert pla.glass_transition_c is not None and pla.glass_transition_c.high <= 65
    peek = engine_values(KNOWLEDGE.materials["peek"], KNOWLEDGE)
    assert peek.glass_transition_c is not None and peek.glass_transition_c.high <= 150


def test_the_bar_that_pointed_the_wrong_way_is_kept_but_not_used() -> None:
    facts = [f for f in KNOWLEDGE.materials["pc"].facts_of("interlayer_ratio") if f.source == "aldawood_2025"]
    assert len(facts) == 1 and "one bar per condition" in facts[0].set_aside


@pytest.mark.parametrize(
    ("key", "low", "typical", "high"),
    [  # the values that replace the estimates
        ("pla", 0.28, 0.47, 0.78),
        ("petg", 0.22, 0.44, 0.60),
        ("pa6_cf", 0.12, 0.18, 0.40),
        ("pet_cf", 0.15, 0.21, 0.35),
        ("abs", 0.20, 0.35, 0.50),
        ("asa", 0.20, 0.35, 0.50),
        ("pps_cf", 0.10, 0.20, 0.35),
        ("asa_cf", 0.10, 0.15, 0.30),
    ],
)
def test_corrected_interlayer_ratios_win(key: str, low: float, typical: float, high: float) -> None:
    value = engine_values(KNOWLEDGE.materials[key], KNOWLEDGE).interlayer_ratio
    assert (value.low, value.typical, value.high) == (low, typical, high)
    assert value.is_estimate


@pytest.mark.parametrize(
    ("key", "field", "typical"),
    [
        ("pla", "fatigue_fraction", 0.09),
        ("pc", "fatigue_fraction", 0.10),
        ("pa6_cf", "fatigue_fraction", 0.26),
        ("pc", "sustained_1000_h_23_c", 0.40),
        ("pc", "sustained_1_year_23_c", 0.30),
        ("peek", "sustained_1_year_23_c", 0.40),
        ("pa6_cf", "wet_strength_factor", 0.50),
        ("pa6_cf", "wet_modulus_factor", 0.28),
        ("pa6_cf", "conditioned_strength_factor", 0.70),
        ("abs", "interlayer_ratio_enclosed", 0.60),
    ],
)
def test_other_corrections_win(key: str, field: str, typical: float) -> None:
    assert getattr(engine_values(KNOWLEDGE.materials[key], KNOWLEDGE), field).typical == typical


def test_corrected_points_of_the_temperature_curves() -> None:
    pps = engine_values(KNOWLEDGE.materials["pps_cf"], KNOWLEDGE)
    assert pps.strength_at([60, 80, 100, 120, 150]).tolist() == [0.94, 0.86, 0.70, 0.53, 0.42]
    assert pps.strength_curve_grade == "B"
    peek = engine_values(KNOWLEDGE.materials["peek"], KNOWLEDGE)
    assert float(peek.strength_at(150)) == 0.47 and float(peek.strength_at(150, "high")) == 0.55


def test_softening_takes_the_lower_for_glassy_and_the_light_load_for_crystalline() -> None:
    pet_cf = engine_values(KNOWLEDGE.materials["pet_cf"], KNOWLEDGE)  # prints glassy
    assert pet_cf.softening_c.typical == pet_cf.glass_transition_c.typical  # type: ignore[union-attr]
    pc = engine_values(KNOWLEDGE.materials["pc"], KNOWLEDGE)
    assert pc.softening_c.typical == pc.heat_deflection_045_c.typical  # type: ignore[union-attr]
    pa12 = engine_values(KNOWLEDGE.materials["pa12"], KNOWLEDGE)
    assert pa12.softening_c.typical == pa12.heat_deflection_045_c.typical  # type: ignore[union-attr]
    assert engine_values(KNOWLEDGE.materials["pla_ht"], KNOWLEDGE).softening_c.typical == 65  # stated
    tpu = engine_values(KNOWLEDGE.materials["tpu_95a"], KNOWLEDGE)
    assert tpu.softening_c.typical == tpu.continuous_use_c.typical and tpu.softening_c.is_estimate
    assert tpu.heat_deflection_045_c is None and tpu.flexural_strength_mpa is None


def test_working_strain_by_hand() -> None:
    # PETG: yield 3/4/5 %, break 3/7/20 %: 0.7 x 4 = 2.8 against 0.5 x 7 = 3.5; 0.6 x 2.8 = 1.68.
    values = engine_values(petg(), KNOWLEDGE)
    once, again = values.working_strain_once_percent, values.working_strain_repeated_percent
    assert (once.low, once.typical, once.high) == pytest.approx((1.5, 2.8, 3.5))
    assert again.typical == pytest.approx(1.68)
    # PA6 with glass: yield 2.8, break 3: 0.5 x 3 = 1.5 governs.
    gf = engine_values(KNOWLEDGE.materials["pa6_gf"], KNOWLEDGE)
    assert gf.working_strain_once_percent.typical == pytest.approx(1.5)


def test_a_value_at_40_degc_follows_the_year_when_none_is_stated() -> None:
    hips = engine_values(
        KNOWLEDGE.materials["hips"], KNOWLEDGE
    )  # no 40 degC figure: 0.75 of 0.25 and of 0.35
    assert hips.sustained_1_year_40_c.typical == pytest.approx(0.75 * 0.25)
    assert hips.sustained_1000_h_40_c.typical == pytest.approx(0.75 * 0.35)


def test_fibre_expands_upwards_more() -> None:
    cf = engine_values(KNOWLEDGE.materials["pa6_cf"], KNOWLEDGE)
    assert cf.cte_build_per_k.typical == pytest.approx(248e-6) and cf.cte_per_k.typical == pytest.approx(
        22e-6
    )
    assert cf.cte_per_k.unit == "1/K"
    gf = engine_values(KNOWLEDGE.materials["pa6_gf"], KNOWLEDGE)
    assert gf.cte_build_per_k.typical == pytest.approx(5 * gf.cte_per_k.typical)
    plain = engine_values(petg(), KNOWLEDGE)
    assert plain.cte_build_per_k.typical == plain.cte_per_k.typical


def test_an_own_interlayer_ratio_in_a_chamber_is_used() -> None:
    own = engine_values_of(with_fact(petg(), "interlayer_ratio_enclosed", 0.9, "ratio"))
    assert own.interlayer_ratio_enclosed.typical == 0.9
    pa6 = engine_values(KNOWLEDGE.materials["pa6"], KNOWLEDGE)  # helps, no fact: times 1.1, capped at 1
    assert pa6.interlayer_ratio_enclosed.typical == pytest.approx(0.7 * 1.1)
    assert pa6.interlayer_ratio_enclosed.high == 1.0


def test_the_cautious_word_wins_between_rivals_of_one_grade() -> None:
    # PC and alcohol: two grade B sources, good and poor; the poor one has seen cracks.
    assert engine_values(KNOWLEDGE.materials["pc"], KNOWLEDGE).chemical_ratings["alcohol"] == "P"


def test_missing_properties_are_named_and_refused() -> None:
    bare = without(petg(), "density", "abrasive", "yield_strain")._replace(curves=())
    expected = ["density", "abrasive", "yield_strain", "relative_strength", "relative_modulus"]
    assert missing_values(bare) == expected
    with pytest.raises(ValueError, match="material petg: no fact in use gives density"):
        engine_values_of(bare)


def test_values_are_made_once() -> None:
    assert engine_values(petg(), KNOWLEDGE) is engine_values(petg(), KNOWLEDGE)


def test_the_better_curve_is_taken_and_a_curve_set_aside_is_not() -> None:
    good = Curve("relative_strength", ((23, 1, 1, 1), (60, 0.9, 0.9, 0.9)), "s", "A", "measured")
    assert curve_of(petg()._replace(curves=(*petg().curves, good)), "relative_strength") is good
    aside = tuple(c._replace(set_aside="x") for c in petg().curves)
    assert curve_of(petg()._replace(curves=aside), "relative_strength") is None


# -- every material --------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", KEYS)
def test_numbers_make_physical_sense(key: str) -> None:
    values = engine_values(KNOWLEDGE.materials[key], KNOWLEDGE)
    for name in values.__slots__:
        value = getattr(values, name)
        if hasattr(value, "typical"):
            assert value.low <= value.typical <= value.high, name
            assert value.reason and value.sources and set(value.sources) <= set(KNOWLEDGE.sources), name
    assert values.interlayer_ratio.typical <= values.interlayer_ratio_enclosed.typical
    assert values.sustained_1_year_23_c.typical <= values.sustained_1000_h_23_c.typical <= 1
    assert values.sustained_1_year_40_c.typical <= values.sustained_1_year_23_c.typical
    assert values.wet_modulus_factor.typical <= values.conditioned_modulus_factor.typical <= 1
    assert values.wet_strength_factor.typical <= values.conditioned_strength_factor.typical <= 1
    assert values.weather_factor_years.typical <= values.weather_factor_season.typical <= 1
    assert values.working_strain_repeated_percent.typical < values.working_strain_once_percent.typical
    assert values.working_strain_once_percent.typical <= 0.5 * values.elongation_percent.typical + 1e-9
    assert 0 < values.poisson_ratio.typical < 0.5 and values.fatigue_slope.high < 0
    if values.flexural_strength_mpa and values.crystallinity != "elastomer":
        assert values.flexural_strength_mpa.typical > values.strength_mpa.typical
    if values.heat_deflection_045_c and values.heat_deflection_180_c:
        assert values.heat_deflection_180_c.typical <= values.heat_deflection_045_c.typical
    assert values.bed_temperature_c.typical < values.nozzle_temperature_c.typical


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("bound", ["low", "typical", "high"])
def test_hotter_never_strengthens_and_nothing_is_known_beyond(key: str, bound: str) -> None:
    values = engine_values(KNOWLEDGE.materials[key], KNOWLEDGE)
    at = np.linspace(-60, 300, 721)
    for curve in (values.strength_at(at, bound), values.modulus_at(at, bound)):
        assert np.all(np.diff(curve) <= 1e-12) and np.all(curve >= 0)
        assert curve[-1] == 0.0
    assert np.all(values.strength_at(at, bound) <= 1.0)
    assert float(values.strength_at(23.0, bound)) == 1.0
    assert values.strength_at(np.zeros((2, 3))).shape == (2, 3)
