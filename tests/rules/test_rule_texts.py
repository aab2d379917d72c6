"""The texts of refusals and cautions: plain words, right signal words, sources, no broken references."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
import textstat
from firing_table import knowledge, sheet

from recommender.errors import DutySheetError, KnowledgeError
from recommender.rules.book import Rule, _rule, rule_book
from recommender.rules.refusals import refused_uses
from recommender.rules.triggers import variables_of

BOOK = rule_book(knowledge())
RULES = (*BOOK.refusals, *BOOK.cautions)
FIELDS = ("hazard", "result", "do_this", "next_step", "not_for")


def lines_of(rule: Rule) -> Iterator[tuple[str, str]]:
    for field in FIELDS:
        if rule.row.get(field):
            yield field, rule.row[field]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.key)
def test_every_line_reads_at_grade_eight_or_lower(rule: Rule) -> None:
    for field, text in lines_of(rule):
        assert textstat.flesch_kincaid_grade(text) <= 8.0, (field, text)


def test_the_texts_as_a_whole_read_at_grade_six_or_lower() -> None:
    grades = [textstat.flesch_kincaid_grade(text) for rule in RULES for _, text in lines_of(rule)]
    assert sum(grades) / len(grades) <= 6.0


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.key)
def test_a_rule_is_whole(rule: Rule) -> None:
    row = rule.row
    assert row["ask"] and row["sources"] and row["grade"] in "ABC"
    assert all(source in knowledge().sources for source in row["sources"])
    if rule in BOOK.refusals:
        assert row["next_step"] and row["use"]
        assert bool(row["not_for"]) or row["group"] == "consequence"


def test_signal_words_are_not_inflated() -> None:
    # ANSI Z535.4: DANGER only where death or serious injury will follow; NOTICE is not about injury.
    danger = [rule for rule in RULES if rule.row["signal"] == "DANGER"]
    assert {rule.key for rule in danger} == {"G22", "K052", "K057", "K079", "K085"}
    hurts = re.compile(r"kill|injur|hurt|burn|choke|shock", re.IGNORECASE)
    notices = [rule for rule in BOOK.cautions if rule.row["signal"] == "NOTICE"]
    about_people = [r.key for r in notices if hurts.search(r.row["hazard"] + r.row["result"])]
    assert about_people == [
        "K059",
        "K102",
    ]  # static "kills" electronics; the duty to report what hurts people


def test_what_a_caution_replaces_exists_and_never_in_a_ring() -> None:
    replaces = {rule.key: set(rule.row["replaces"]) for rule in BOOK.cautions}
    for key, others in replaces.items():
        assert others <= set(replaces)
        seen, pending = set(), set(others)
        while pending:
            seen |= pending
            pending = set().union(*(replaces[other] for other in pending)) - seen
        assert key not in seen


def test_every_variable_of_a_trigger_has_a_meaning_and_each_is_used() -> None:
    used = {name for rule in RULES for tree in (rule.trigger, rule.near) for name in variables_of(tree)}
    assert used <= set(BOOK.vocabulary)
    # power_w, service limits and the like also feed other facts; what no rule reads would be dead weight.
    idle = set(BOOK.vocabulary) - used
    assert idle <= {"food_max_c", "infill_solid", "lamp_type"}


def test_a_fault_in_a_trigger_names_its_rule() -> None:
    row = {**BOOK.cautions[0].row, "trigger": "food_contact = maybe"}
    with pytest.raises(KnowledgeError, match=r"K\d+: trigger"):
        _rule(row, BOOK.vocabulary)


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"magnets": True}, "Did you mean has_magnets"),
        ({"zzzz": True}, "facts.yaml"),
        ({"has_magnets": "perhaps"}, "true or false"),
        ({"power_w": "much"}, "plain number"),
        ({"enclosure": "tent"}, "full_filtered, none, partial"),
        ({"uses": ["kite"]}, "'kite' is not one of"),
        ({"enclosure": ["none", "partial"]}, "one word"),
    ],
)
def test_a_wrong_fact_is_one_clear_message(facts: dict[str, object], says: str) -> None:
    with pytest.raises(DutySheetError) as raised:
        refused_uses(sheet({"facts": facts}), knowledge())
    assert says in str(raised.value)
    assert str(raised.value).startswith("facts.")
