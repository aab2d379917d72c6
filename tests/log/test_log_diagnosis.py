"""Why a part failed, and what to change first."""

from __future__ import annotations

import math
import sqlite3

import numpy as np
import pytest
from synthetic_log import synthetic_print

from recommender.errors import InputError
from recommender.log import grammar, recording
from recommender.log.learning import diagnosis
from recommender.section.strengths import bond_factor

SETTINGS = synthetic_print().settings


def verdict(texts: dict[str, list[str]], **changes: object) -> diagnosis.Verdict:
    entry = synthetic_print(settings={**SETTINGS, **changes})
    return diagnosis.verdict_on(diagnosis.seen_from(entry, grammar.observations_from(texts, entry)))


@pytest.mark.parametrize(
    ("texts", "changes", "cause"),
    [
        ({"broke": ["60 N, along layers"]}, {"layer_height_mm": 0.3}, "weak_bond"),
        ({"broke": ["60 N, along layers"], "event": ["layer split"]}, {}, "weak_bond"),
        ({"broke": ["65 N, across layers"], "mass": ["40 g"], "event": ["under-extruded"]}, {}, "under_extrusion"),
        ({"broke": ["105 N, across layers"]}, {}, "overload"),
        ({"broke": ["75 N, across layers, at the root"]}, {}, "stress_raiser"),
        ({"broke": ["90 N, along layers"]}, {"orientation": "upright"}, "across_layers"),
        ({"service": ["sagged after 20 days, hottest 60 °C"]}, {}, "heat"),
    ],
)  # fmt: skip
def test_the_likeliest_cause(texts: dict[str, list[str]], changes: dict[str, object], cause: str) -> None:
    found = verdict(texts, **changes)
    assert found.causes[0][0].key == cause
    assert math.fsum(share for _, share in found.causes) == pytest.approx(1.0)
    assert found.change and found.evidence


def test_the_change_carries_its_number() -> None:
    found = verdict({"broke": ["60 N, along layers"]}, layer_height_mm=0.3)
    half, thick = bond_factor(np.array([0.5, 0.75]))
    assert f"{half / thick - 1:+.0%}" in found.change
    assert "0.2 mm instead of 0.3 mm" in found.change
    assert "it broke at 0.60 of the predicted load" in found.evidence


def test_a_load_as_predicted_raises_overload_and_lowers_the_bond() -> None:
    def share(load: str, key: str) -> float:
        causes = verdict({"broke": [f"{load}, along layers"]}).causes
        return next(probability for cause, probability in causes if cause.key == key)

    assert share("100 N", "overload") > share("50 N", "overload")
    assert share("100 N", "weak_bond") < share("50 N", "weak_bond")


def test_a_print_that_only_warped() -> None:
    found = verdict({"event": ["warped"]})
    assert "brim" in found.change
    assert diagnosis.as_mapping(found)["causes"][0]["probability"] == 1.0


def test_nothing_went_wrong() -> None:
    with pytest.raises(InputError, match="no failure is logged"):
        verdict({"mass": ["50 g"], "event": ["first-time right"]})


def test_a_voided_break_is_not_diagnosed(log: sqlite3.Connection) -> None:
    entry = synthetic_print()
    recording.add_print(log, entry)
    seen = grammar.observations_from({"broke": ["60 N, along layers"]}, entry)
    recording.add_observations(log, seen)
    text = diagnosis.as_text(diagnosis.diagnosed(log, entry.id))
    assert "most likely" in text and max(len(line) for line in text.splitlines()) <= 110
    recording.void(log, seen[0].id, "a test")
    with pytest.raises(InputError):
        diagnosis.diagnosed(log, entry.id)
