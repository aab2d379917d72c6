"""Refusals: uses for which no settings are given, with reasons, whom to ask and the next step."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from kb.loading import KnowledgeBase
from recommender.answer import Notice
from recommender.duty.sheet import Duty
from recommender.rules.book import Rule, RuleBook, rule_book
from recommender.rules.danger_words import Evidence, names_of, read_texts
from recommender.rules.heat import surface_temperature
from recommender.rules.triggers import evaluate, unknown_variables, values_of
from recommender.rules.vocabulary import facts_of, material_facts

MOST_WORDS_SHOWN = 6


class NearMiss(NamedTuple):
    """A refusal that this part comes near: a line for the note, and why it is not refused."""

    key: str
    not_for: str
    because: str


class Reading(NamedTuple):
    """What a sheet says to the rules: facts without a material, and the evidence of its free text."""

    facts: Mapping[str, Any]
    evidence: Evidence


def refused_uses(duty: Duty, knowledge: KnowledgeBase) -> tuple[Notice, ...]:
    """Every reason to refuse this sheet, in the order of the table; empty when nothing forbids it.

    A refusal whose trigger hangs on a fact that nobody stated refuses as well, and asks for that fact, unless its
    row says ``if_unknown: pass`` (then another rule looks after it).

    Raises
    ------
    DutySheetError
        ``facts:`` of the sheet names an unknown fact or value.
    """
    book, reading = rule_book(knowledge), read_sheet(duty, knowledge)
    return tuple(_notice(rule, reading, book) for rule in _standing(book.refusals, reading.facts))


def excluded_materials(duty: Duty, knowledge: KnowledgeBase, keys: Iterable[str]) -> dict[str, Notice]:
    """Materials that a refusal rules out for this sheet although the sheet itself is not refused."""
    book, reading = rule_book(knowledge), read_sheet(duty, knowledge)
    refused = {rule.key for rule in _standing(book.refusals, reading.facts)}
    open_rules = [
        rule for rule in book.refusals
        if rule.key not in refused and evaluate(rule.trigger, reading.facts) is not False
    ]  # fmt: skip
    if not open_rules:
        return {}
    excluded = {}
    for key in keys:
        facts = {**reading.facts, **material_facts(key, knowledge)}
        for rule in open_rules:
            if evaluate(rule.trigger, facts) is True:
                excluded[key] = _notice(rule, reading, book)
                break
    return excluded


def near_misses(duty: Duty, knowledge: KnowledgeBase) -> tuple[NearMiss, ...]:
    """Refusals that this part comes near without being refused: the "not for" lines of the note."""
    book, reading = rule_book(knowledge), read_sheet(duty, knowledge)
    refused = {rule.key for rule in _standing(book.refusals, reading.facts)}
    return tuple(
        NearMiss(rule.key, rule.row["not_for"], _why_not_refused(rule, reading, book))
        for rule in book.refusals
        if rule.key not in refused and rule.row["not_for"] and evaluate(rule.near, reading.facts) is True
    )


def read_as(duty: Duty, knowledge: KnowledgeBase) -> tuple[str, ...]:
    """One line for each danger word of the sheet that was read as harmless, with the reason, to be checked."""
    book, reading = rule_book(knowledge), read_sheet(duty, knowledge)
    lines = (
        f"Read as harmless: {excuse.why}"
        for excuse in reading.evidence.excused
        if book.lexicon.rows[excuse.row].kind == "danger"
    )
    return tuple(dict.fromkeys(lines))


def read_sheet(duty: Duty, knowledge: KnowledgeBase) -> Reading:
    """The facts of the sheet, its free text included; the last sheet's reading is kept with the knowledge."""
    kept = knowledge.memory.get("read_sheet")
    if kept is None or kept[0] is not duty:
        kept = knowledge.memory["read_sheet"] = (duty, _read(duty, knowledge))
    reading: Reading = kept[1]
    return reading


def _read(duty: Duty, knowledge: KnowledgeBase) -> Reading:
    book = rule_book(knowledge)
    surface = surface_temperature(duty, knowledge).value_c
    material = _only_material(duty, knowledge)
    of_fields = facts_of(duty, book.vocabulary, material, surface)
    evidence = read_texts(duty, book.lexicon, book.vocabulary, of_fields)
    return Reading(facts_of(duty, book.vocabulary, material, surface, implied=evidence.implied), evidence)


def _only_material(duty: Duty, knowledge: KnowledgeBase) -> dict[str, Any] | None:
    """The material's facts where the sheet leaves no choice."""
    if len(duty.filaments) != 1:
        return None
    key = duty.filaments[0].strip().lower().replace("-", "_").replace(" ", "_")
    return material_facts(key, knowledge) if key in knowledge.materials else None


def _standing(rules: Iterable[Rule], facts: Mapping[str, Any]) -> tuple[Rule, ...]:
    standing = []
    for rule in rules:
        held = evaluate(rule.trigger, facts)
        if held is True or (held is None and rule.row["if_unknown"] != "pass"):
            standing.append(rule)
    return tuple(standing)


def _notice(rule: Rule, reading: Reading, book: RuleBook) -> Notice:
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
        next_step=row["next_step"],
        because=" ".join(filter(None, (_found_words(rule, reading, book), _question(rule, reading)))),
    )


def _question(rule: Rule, reading: Reading) -> str:
    if evaluate(rule.trigger, reading.facts) is not None:
        return ""
    missing = ", ".join(unknown_variables(rule.trigger, reading.facts))
    return rule.row["question"] or f"The sheet must say: {missing}."


def _found_words(rule: Rule, reading: Reading, book: RuleBook) -> str:
    """The words of the text that led to this refusal, so that the user can see and correct a misreading."""
    named = dict(values_of(rule.trigger))
    words = dict.fromkeys(
        words for row, words in reading.evidence.found if _touches(book.lexicon.rows[row].implies, named)
    )
    shown = ", ".join(f"“{word}”" for word in list(words)[:MOST_WORDS_SHOWN])
    return f"Read in the text: {shown}." if words else ""


def _touches(implies: Mapping[str, Any], named: Mapping[str, frozenset[Any]]) -> bool:
    for name, value in implies.items():
        wanted = named.get(name)
        if wanted is not None:
            if isinstance(value, float):
                return True
            if not wanted.isdisjoint(value if isinstance(value, frozenset) else {value}):
                return True
    return False


def _why_not_refused(rule: Rule, reading: Reading, book: RuleBook) -> str:
    near = dict(values_of(rule.near)).get("near_uses", frozenset())
    for excuse in reading.evidence.excused:
        if not near.isdisjoint(names_of(book.lexicon.rows[excuse.row])):
            return excuse.why
    return "The sheet names no such use."
