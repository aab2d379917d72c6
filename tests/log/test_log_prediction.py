"""What is predicted for a print, for comparison with what happens."""

from __future__ import annotations

from typing import Any

import pytest

from kb.loading import load_knowledge_base
from recommender.duty.reading import duty_from
from recommender.errors import InputError
from recommender.learned import NOTHING_LEARNED
from recommender.log.geometry_class import geometry_class
from recommender.log.prediction import print_from
from recommender.log.records import Print

SETTINGS = {"material": "petg", "walls": 4, "orientation": "flat"}


def sheet(**changes: Any) -> dict[str, Any]:
    section = {"shape": "rectangle", "width": "10 mm", "thickness": "4 mm"}
    return {
        "part": "synthetic bar",
        "form": {"kind": "bar", "length": "80 mm", "section": section},
        "loads": [{"kind": "static", "action": "pull", "force": "100 N"}],
        **changes,
    }


def predicted(**changes: Any) -> Print:
    content = sheet(**changes)
    return print_from(duty_from(content), content, SETTINGS, load_knowledge_base(), NOTHING_LEARNED)


@pytest.mark.parametrize(
    "changes",
    [
        {"loads": [{"kind": "sustained", "action": "pull", "force": "100 N", "duration": "1 year"}]},
        {"loads": [{"kind": "cyclic", "action": "pull", "force": "100 N", "cycles": 100000}]},
        {"place": {"usual_temperature": "50 °C"}},
        {"place": {"water": "wet"}},
        {"material_trust": "label_only"},
        {"limits": {"deflection": "0.01 mm"}},
    ],
    ids=["sustained", "cyclic", "hot", "wet", "label only", "limit"],
)
def test_the_test_in_the_hand_knows_nothing_of_the_duty(changes: dict[str, Any]) -> None:
    plain, hard = predicted(), predicted(**changes)
    assert hard.test_typical == pytest.approx(plain.test_typical, rel=1e-9)
    assert hard.failure_typical is not None and plain.failure_typical is not None
    assert hard.failure_typical <= plain.failure_typical


def test_a_print_holds_its_load_and_its_states() -> None:
    entry = predicted()
    assert (entry.applied, entry.load_unit) == (pytest.approx(100.0), "N")
    assert entry.governing in entry.states
    assert entry.states[entry.governing] == pytest.approx(entry.test_typical)
    assert (entry.printer, entry.material, entry.settings["walls"]) == ("open_medium", "petg", 4)


def test_a_torque_is_kept_in_inner_units() -> None:
    shaft = {
        "form": {"kind": "shaft", "length": "60 mm", "section": {"shape": "round", "diameter": "12 mm"}},
        "loads": [{"kind": "static", "action": "twist", "torque": "0.5 N·m"}],
    }
    entry = predicted(**shaft)
    assert (entry.applied, entry.load_unit) == (pytest.approx(500.0), "N·mm")


def test_kind_and_size_make_the_class() -> None:
    assert geometry_class(duty_from(sheet())) == "bar, medium"


def test_a_refused_use_is_not_logged() -> None:
    content = sheet(purpose="holds a child in a swing", people={"holds_person": True})
    with pytest.raises(InputError, match=r"nothing suitable|refused"):
        print_from(duty_from(content), content, None, load_knowledge_base(), NOTHING_LEARNED)
