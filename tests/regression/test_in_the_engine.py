"""The correction as `assess` and `suggest` use it and say it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from kb.design_values import engine_values
from kb.loading import load_knowledge_base
from recommender.answer import Option
from recommender.duty.reading import duty_from
from recommender.evaluation import kind_of
from recommender.regression.prediction import correction, strength_factors
from recommender.regression.record import shipped_record
from recommender.suggest import assess

BAR: dict[str, Any] = {"shape": "rectangle", "width": "10 mm", "thickness": "4 mm"}
SOLID = {"walls": 3, "infill": 100}


def assessed(form: dict[str, Any], load: dict[str, Any], **settings: object) -> Option:
    duty = duty_from({"part": "bar", "form": form, "loads": [{"kind": "static", "force": "9 N", **load}]})
    choice = assess(duty, SOLID | settings, load_knowledge_base()).choice
    assert choice is not None
    return choice


def pulled(**settings: object) -> Option:
    return assessed({"kind": "bar", "length": "80 mm", "section": BAR}, {"action": "pull"}, **settings)


def bent(**load: object) -> Option:
    form = {"kind": "beam", "span": "64 mm", "support": "simply_supported", "section": BAR}
    return assessed(form, {"action": "bend", **load}, material="pla")


def factor(option: Option, name: str) -> float:
    return next(f.value for f in option.chain if f.name == name)


@pytest.mark.parametrize("orientation", ["flat", "upright"])
def test_load_of_a_solid_bar_is_strength_times_correction_times_area(orientation: str) -> None:
    """F = strength (x ratio and bond across the layers) x exp(correction) x 40 mm^2: no core, nothing else acts."""
    values = engine_values(load_knowledge_base().materials["pla"], load_knowledge_base())
    option = pulled(material="pla", orientation=orientation)
    across = orientation == "upright"
    mean, _ = correction(shipped_record(), [kind_of(values)], across=across)
    strength = values.strength_mpa.typical * (values.interlayer_ratio.typical if across else 1.0)
    strength *= factor(option, "temperature") * factor(option, "water")  # tested with the deratings
    # Layer height over nozzle is 0.5, the reference of the ratio, so the bond factor is 1.
    assert option.failure_load.typical == pytest.approx(40.0 * strength * math.exp(mean[0]), rel=1e-9)


def test_interval_is_at_least_that_of_measured_bars() -> None:
    values = engine_values(load_knowledge_base().materials["petg"], load_knowledge_base())
    load = pulled(material="petg").failure_load
    _, sd = correction(shipped_record(), [kind_of(values)], across=False)
    assert load.high / load.typical >= math.exp(1.645 * sd[0])
    assert load.high / load.typical == pytest.approx(load.typical / load.low)


def test_a_material_without_bars_says_so_and_is_less_sure() -> None:
    known, unknown = pulled(material="petg"), pulled(material="hips")
    assert (
        unknown.failure_load.high / unknown.failure_load.low
        > known.failure_load.high / known.failure_load.low
    )
    why = next(f.why for f in unknown.chain if f.name == "measured bars")
    assert "no bar of" in why and "wider" in why


def test_the_answer_says_in_one_line_what_bars_changed_and_names_the_model() -> None:
    duty = duty_from({
        "part": "bar", "form": {"kind": "bar", "length": "80 mm", "section": BAR},
        "loads": [{"kind": "static", "action": "pull", "force": "9 N"}],
    })  # fmt: skip
    answer = assess(duty, SOLID | {"material": "pla"}, load_knowledge_base())
    lines = [line for line in answer.reasons if "easured bars" in line]
    assert len(lines) == 1
    assert answer.choice is not None
    assert f"{abs(factor(answer.choice, 'measured bars') - 1.0):.0%}" in lines[0]
    assert answer.model_version == shipped_record().version


def test_only_a_beam_bent_once_gets_the_reserve_in_bending() -> None:
    # Fully plastic over elastic moment of a solid rectangle is 1.5; the fitted exponent stays near 1.
    once = bent(at="middle")
    assert 1.3 < factor(once, "reserve in bending") < 1.7
    lasting = bent(at="middle", kind="sustained", duration="1 year")
    repeated = bent(at="middle", kind="cyclic", cycles=100000)
    for other in (lasting, repeated):
        assert all(f.name != "reserve in bending" for f in other.chain)


def test_kept_factors_are_those_of_the_correction() -> None:
    knowledge = load_knowledge_base()
    kinds = tuple(kind_of(engine_values(knowledge.materials[m], knowledge)) for m in ("pla", "abs_cf", "pc"))
    along, across, pressed = strength_factors(shipped_record(), kinds, "tension")
    for found, way, test in (
        (along, False, "tension"),
        (across, True, "tension"),
        (pressed, False, "compression"),
    ):
        mean, _ = correction(shipped_record(), kinds, across=way, test=test)  # type: ignore[arg-type]
        assert found == pytest.approx(np.exp(mean))
