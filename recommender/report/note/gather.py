"""From what the program knows (duty, answer, knowledge base, profile) to the case of a note."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from kb.design_values import engine_values
from kb.loading import KnowledgeBase
from kb.schema import Material
from kb.wording import wording
from recommender.answer import Answer
from recommender.duty.sheet import Duty
from recommender.report.note.case import (
    NO_TRACE,
    STRICTEST,
    Case,
    Emission,
    Feedstock,
    Maker,
    ServiceRule,
    Trace,
)
from recommender.report.note.measures import Reader, Units
from recommender.rules.cautions import cautions_for
from recommender.rules.refusals import excluded_materials, near_misses, refused_uses

_UNIT_START = "ug/min "


def case_of(
    duty: Duty,
    answer: Answer,
    knowledge: KnowledgeBase,
    maker: Maker,
    language: str,
    units: Units,
    trace: Trace = NO_TRACE,
) -> Case:
    """Everything a note is made from, for one reader."""
    return Case(
        duty=duty,
        answer=judged(duty, answer, knowledge, trace),
        reader=Reader(wording(language), units),
        maker=maker,
        trace=trace,
        feedstock=feedstock_of(answer, knowledge),
        near_misses=near_miss_keys(duty, knowledge),
        service=service_rule_of(duty, knowledge),
        rows=safety_rows(knowledge),
    )


def judged(duty: Duty, answer: Answer, knowledge: KnowledgeBase, trace: Trace = NO_TRACE) -> Answer:
    """`answer` with every refusal and caution of the rules, whether or not it came with them.

    The note never trusts a stored answer to be complete: the rules are asked anew each time.
    """
    refusals = refused_uses(duty, knowledge)
    if refusals:
        return answer._replace(verdict="refused", choice=None, refusals=refusals)
    if answer.choice is None:
        return answer
    settings = trace.settings or answer.choice.settings
    known = settings.material if settings.material in knowledge.materials else None
    excluded = excluded_materials(duty, knowledge, [known] if known else [])
    if excluded:
        return answer._replace(verdict="refused", choice=None, refusals=tuple(excluded.values()))
    about = {
        "orientation": settings.orientation,
        "infill_percent": settings.infill_percent,
        "has_core": answer.choice.has_core,
    }
    return answer._replace(cautions=cautions_for(duty, known, about, knowledge))


def near_miss_keys(duty: Duty, knowledge: KnowledgeBase) -> tuple[str, ...]:
    """Keys of the refusals that the part comes near, those that the sheet's own words touch first."""
    found = near_misses(duty, knowledge)
    plain = "The sheet names no such use."
    return tuple(near.key for near in sorted(found, key=lambda near: near.because == plain))


def safety_rows(knowledge: KnowledgeBase) -> dict[str, Mapping[str, Any]]:
    """Rows of the cautions and gates by their key."""
    tables = (knowledge.tables.get(name, ()) for name in ("cautions", "gates"))
    return {str(row["key"]): row for table in tables for row in table}


def service_rule_of(duty: Duty, knowledge: KnowledgeBase) -> ServiceRule:
    """The rule for what happens if the part breaks; the strictest where there is none."""
    for row in knowledge.tables.get("service_rules", ()):
        if row["id"] == duty.people.if_it_breaks:
            return ServiceRule(
                int(row["inspection_months"]),
                int(row["retirement_months"]),
                float(row["proof_factor"]),
                float(row["proof_hold_min"]),
                int(row["break_samples"]),
            )
    return STRICTEST


def feedstock_of(answer: Answer, knowledge: KnowledgeBase) -> Feedstock | None:
    """What is known of the chosen plastic; None without a choice."""
    key = answer.choice.settings.material if answer.choice else ""
    if key not in knowledge.materials:
        return None
    material = knowledge.materials[key]
    values = engine_values(material, knowledge)
    return Feedstock(
        key=key,
        name=material.name,
        family=material.family,
        filler=material.filler,
        drying_c=values.drying_temperature_c.low,
        drying_h=values.drying_hours.typical,
        chamber_need=values.chamber_need,
        abrasive=values.abrasive,
        emission=emission_of(material, knowledge),
    )


def emission_of(material: Material, knowledge: KnowledgeBase) -> Emission:
    """Class of what printing this plastic gives off, with a measured rate; a filled grade is never lower."""
    levels = {row["id"]: str(row["level"]) for row in knowledge.tables.get("emission_classes", ())}
    level = levels.get(material.family, "unknown")
    if material.filler and level == "lower":
        level = "unknown"
    rates = [fact for fact in material.facts_of("emissions") if fact.unit.startswith(_UNIT_START)]
    if not rates or rates[0].low is None or rates[0].high is None:
        return Emission(level)
    return Emission(level, rates[0].unit.removeprefix(_UNIT_START), rates[0].low, rates[0].high)
