"""Cautions: what whoever prints, sells or uses this part should know, worst first."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from kb.loading import KnowledgeBase
from recommender.answer import Notice
from recommender.duty.sheet import Duty
from recommender.rules.book import SIGNALS, Rule, rule_book
from recommender.rules.heat import surface_temperature
from recommender.rules.refusals import read_sheet
from recommender.rules.triggers import evaluate
from recommender.rules.vocabulary import facts_of, material_facts

AUDIENCES: tuple[str, ...] = ("user", "maker", "seller")


def cautions_for(
    duty: Duty,
    material_key: str | None,
    settings: Mapping[str, Any] | None,
    knowledge: KnowledgeBase,
    audience: str | None = None,
) -> tuple[Notice, ...]:
    """Cautions for this part in this material and with these settings, worst first, each said once.

    A caution gives way to a stronger one that says the same (``replaces`` of its row). One that hangs on a fact
    that nobody stated speaks only where its row says ``if_unknown: speak``.

    Parameters
    ----------
    duty : Duty
        The duty sheet.
    material_key : str, optional
        Key of the material in the knowledge base; without it what hangs on the material is unknown.
    settings : mapping, optional
        ``orientation`` and ``infill_percent``, and ``has_core`` or ``across_layers`` where they are known.
    knowledge : KnowledgeBase
        Source of the rules.
    audience : str, optional
        ``user``, ``maker`` or ``seller``: only the cautions meant for them.
    """
    facts = caution_facts(duty, material_key, settings, knowledge)
    standing = [rule for rule in rule_book(knowledge).cautions if _speaks(rule, facts)]
    replaced = {
        key for rule in standing for key in rule.row["replaces"] if not _is_milder(rule, key, standing)
    }
    kept = [rule for rule in standing if rule.key not in replaced]
    return tuple(
        _notice(rule) for rule in sorted(kept, key=_badness) if audience in (None, rule.row["audience"])
    )


def caution_facts(
    duty: Duty, material_key: str | None, settings: Mapping[str, Any] | None, knowledge: KnowledgeBase
) -> dict[str, Any]:
    """The facts that the cautions are judged on."""
    material = material_facts(material_key, knowledge) if material_key is not None else None
    return facts_of(
        duty,
        rule_book(knowledge).vocabulary,
        material,
        surface_temperature(duty, knowledge).value_c,
        settings,
        read_sheet(duty, knowledge).evidence.implied,
    )


def _speaks(rule: Rule, facts: Mapping[str, Any]) -> bool:
    held = evaluate(rule.trigger, facts)
    return held is True or (held is None and rule.row["if_unknown"] == "speak")


def _is_milder(rule: Rule, key: str, standing: list[Rule]) -> bool:
    """Whether `rule` has a milder signal word than the caution it would replace: then both are said."""
    other = next((known for known in standing if known.key == key), None)
    return other is not None and SIGNALS.index(rule.row["signal"]) > SIGNALS.index(other.row["signal"])


def _badness(rule: Rule) -> tuple[int, int, int, str]:
    row = rule.row
    return SIGNALS.index(row["signal"]), AUDIENCES.index(row["audience"]), row["rank"], rule.key


def _notice(rule: Rule) -> Notice:
    row = rule.row
    return Notice(
        key=rule.key,
        signal=row["signal"],
        hazard=row["hazard"],
        result=row["result"],
        do_this=row["do_this"],
        ask=row["ask"],
        sources=tuple(row["sources"]),
        grade=row["grade"],
    )
