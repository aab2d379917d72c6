"""The factor that must stand between the load at failure and the load: by consequence, load kind, knowledge."""

from __future__ import annotations

from dataclasses import dataclass

from kb.design_values import EngineValues
from kb.loading import KnowledgeBase
from recommender.duty.sheet import Duty

CLASSES = {"no_harm": "C0", "nuisance": "C1", "minor_injury": "C2"}
UNMEASURED_ACROSS = 2.0  # when strength across the layers is an estimate (estimate, kb/design_factors D32)


@dataclass(frozen=True, slots=True)
class Required:
    """The required factor and why; `rows` names the entries of kb/design_factors it rests on."""

    factor: float
    why: str
    rows: tuple[str, ...]


def required_factor(duty: Duty, load_kind: str, short_fraction: float, knowledge: KnowledgeBase) -> Required:
    """The factor wanted on the derated strength.

    The table's factors for steady, repeated and sudden loads stand on short-term strength. Where our deratings
    already take off more than the table doubles, the factor for a short load is enough on what is left; where
    they take off less, the table's factor on the short-term strength governs:
    max(static, kind x fraction left).
    """
    consequence = CLASSES[duty.people.if_it_breaks]
    static = _minimum(knowledge, "static", consequence)
    if load_kind == "static":
        return Required(static[0], f"{_words(duty)}, short load", (static[1],))
    kind = _minimum(knowledge, load_kind, consequence)
    # A sudden load's own force is computed (at least twice the still load), so the doubling is in it already.
    on_kind = kind[0] * short_fraction if load_kind != "impact" else static[0]
    factor = max(static[0], on_kind)
    return Required(factor, f"{_words(duty)}, {load_kind} load", (static[1], kind[1]))


def across_modifier(values: EngineValues, enclosed: bool, knowledge: KnowledgeBase) -> float:
    """The factor's multiple when the pull crosses the layers and nobody measured that strength (D32).

    Where pulls of upright bars of several spools are known, the factor stays: the value in use is then an
    allowance on those measurements, and their spread widens the interval.
    """
    ratio = values.interlayer_ratio_enclosed if enclosed else values.interlayer_ratio
    measured = not ratio.is_estimate or measured_across(values.material, knowledge)
    return 1.0 if measured else UNMEASURED_ACROSS


def measured_across(material: str, knowledge: KnowledgeBase) -> bool:
    """Whether the ratio across to along the layers was measured on more than one spool of `material`."""
    return any(
        fact.property == "interlayer_ratio" and fact.basis == "measured" and _has_range(fact.low, fact.high)
        for fact in knowledge.materials[material].facts
    )


def _has_range(low: float | None, high: float | None) -> bool:
    return low is not None and high is not None and low < high


def _minimum(knowledge: KnowledgeBase, kind: str, consequence: str) -> tuple[float, str]:
    for row in knowledge.table("design_factors"):
        if row["kind"] == "minimum" and row["load_kind"] == kind and row["consequence"] == consequence:
            return float(row["factor"]), str(row["id"])
    raise KeyError(f"design_factors: no minimum for {kind} {consequence}")


def _words(duty: Duty) -> str:
    return {
        "no_harm": "nothing but the part is lost if it breaks",
        "nuisance": "a nuisance or small loss if it breaks",
        "minor_injury": "someone could be slightly hurt if it breaks",
    }[duty.people.if_it_breaks]
