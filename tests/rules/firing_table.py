"""The table of rules and the sheets in which each fires and stays silent.

Shown by ``PYTHONPATH=. python tests/rules/firing_table.py``; checked by test_firing.py.
"""

from __future__ import annotations

import copy
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from kb.loading import KnowledgeBase, load_knowledge_base
from recommender.duty.reading import duty_from
from recommender.duty.sheet import Duty
from recommender.rules.book import rule_book
from recommender.rules.cautions import caution_facts, cautions_for
from recommender.rules.refusals import refused_uses
from recommender.rules.triggers import evaluate

FOLDER = Path(__file__).parent
PLAIN: dict[str, Any] = {
    "part": "drawer divider",
    "form": {
        "kind": "bar",
        "length": "80 mm",
        "section": {"shape": "rectangle", "width": "10 mm", "thickness": "4 mm"},
    },
    "loads": [{"kind": "static", "action": "pull", "force": "5 N"}],
    "people": {"if_it_breaks": "no_harm"},
}
LOADS: dict[str, list[dict[str, Any]]] = {
    "static": PLAIN["loads"],
    "sustained": [{"kind": "sustained", "action": "pull", "force": "5 N", "duration": "2 years"}],
    "cyclic": [{"kind": "cyclic", "action": "pull", "force": "5 N", "cycles": 5000}],
    "impact": [{"kind": "impact", "action": "pull", "energy": "0.1 J"}],
}


@cache
def knowledge() -> KnowledgeBase:
    return load_knowledge_base()


def sheet(changes: dict[str, Any]) -> Duty:
    """The plain sheet with `changes`, whose keys are paths such as ``people.below``."""
    content = copy.deepcopy(PLAIN)
    for path, value in changes.items():
        *rooms, last = path.split(".")
        place = content
        for room in rooms:
            place = place.setdefault(room, {})
        place[last] = LOADS[value] if path == "loads" and isinstance(value, str) else value
    return duty_from(content)


def cases() -> dict[str, dict[str, dict[str, Any]]]:
    """The table: refusals and cautions by key."""
    return yaml.safe_load((FOLDER / "firing.yaml").read_text(encoding="utf-8"))


def refusal_keys(changes: dict[str, Any]) -> set[str]:
    return {notice.key for notice in refused_uses(sheet(changes), knowledge())}


def caution_keys(case: dict[str, Any], which: str) -> set[str]:
    """Keys of the cautions for the firing or the silent sheet of a case."""
    prefix = "" if which == "fires" else "silent_"
    notices = cautions_for(
        sheet(case[which]),
        case.get(f"{prefix}material", "petg"),
        case.get(f"{prefix}settings"),
        knowledge(),
    )
    return {notice.key for notice in notices}


def holds(key: str, case: dict[str, Any]) -> bool:
    """Whether the trigger of a caution holds in the firing sheet, whatever then replaces it."""
    facts = caution_facts(
        sheet(case["fires"]), case.get("material", "petg"), case.get("settings"), knowledge()
    )
    rule = next(rule for rule in rule_book(knowledge()).cautions if rule.key == key)
    return evaluate(rule.trigger, facts) is True


def caution_fires(key: str, case: dict[str, Any]) -> bool:
    if "replaced_by" in case:
        return holds(key, case) and case["replaced_by"] in caution_keys(case, "fires")
    return key in caution_keys(case, "fires")


def main() -> None:
    table = cases()
    for key, case in table["refusals"].items():
        fired, silent = key in refusal_keys(case["fires"]), key not in refusal_keys(case["silent"])
        print(f"{key} fires {fired} for {case['fires']}; silent {silent} for {case['silent']}")
    for key, case in table["cautions"].items():
        fired, silent = caution_fires(key, case), key not in caution_keys(case, "silent")
        wins = f" (gives way to {case['replaced_by']})" if "replaced_by" in case else ""
        print(f"{key} fires {fired} for {case['fires']}; silent {silent} for {case['silent']}{wins}")


if __name__ == "__main__":
    main()
