"""The shipped sheets through the whole tool: what must be refused is, and nothing else is."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
import yaml

from kb.loading import KnowledgeBase, load_knowledge_base
from recommender.answer import Answer
from recommender.duty.reading import read_duty
from recommender.suggest import suggest

FOLDER = Path(__file__).resolve().parents[2] / "datasets" / "examples"
REFUSED = set(yaml.safe_load((FOLDER / "about.yaml").read_text(encoding="utf-8"))["must_be_refused"])
SHEETS = sorted(path.name for path in FOLDER.iterdir() if path.name != "about.yaml")


@cache
def knowledge() -> KnowledgeBase:
    return load_knowledge_base()


@cache
def answer(name: str) -> Answer:
    return suggest(read_duty(FOLDER / name), knowledge())


@pytest.mark.parametrize("name", SHEETS)
def test_refused_are_the_listed_ones_alone(name: str) -> None:
    given = answer(name)
    assert (given.verdict == "refused") == (name in REFUSED)
    assert bool(given.refusals) == (name in REFUSED)
    assert given.verdict != "refused" or given.choice is None  # no settings with a refusal


@pytest.mark.parametrize("name", sorted(set(SHEETS) - REFUSED))
def test_answers_bear_what_they_say(name: str) -> None:
    choice = answer(name).choice
    assert choice is not None, "the example has no answer on the ordinary printer"
    assert choice.factor >= choice.required_factor
    load = choice.failure_load
    assert 0 < load.low <= load.typical <= load.high
