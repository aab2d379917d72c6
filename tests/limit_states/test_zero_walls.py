"""Settings at their ends: no walls, no closed layers, no infill. The answer is a number, however small."""

from __future__ import annotations

import itertools

import pytest

from kb.loading import load_knowledge_base
from recommender.duty.reading import duty_from
from recommender.suggest import assess

KNOWLEDGE = load_knowledge_base()


@pytest.mark.parametrize("action", ["pull", "push", "bend", "twist"])
def test_every_end_of_the_settings_has_an_answer(action: str) -> None:
    amount = {"torque": "1 N·m"} if action == "twist" else {"force": "50 N"}
    sheet = {
        "part": "bar",
        "form": {
            "kind": "bar", "length": "60 mm",
            "section": {"shape": "rectangle", "width": "10 mm", "thickness": "4 mm"},
        },
        "loads": [{"kind": "static", "action": action, **amount}],
    }  # fmt: skip
    duty = duty_from(sheet)
    loads = {}
    for lie, walls, closed, infill in itertools.product(
        ("flat", "edge", "upright"), (0, 1, 12), (0, 5), (0, 20, 100)
    ):
        settings = {
            "material": "petg",
            "orientation": lie,
            "walls": walls,
            "top_layers": closed,
            "infill_percent": infill,
        }
        choice = assess(duty, settings, KNOWLEDGE).choice
        assert choice is not None
        loads[lie, walls, closed, infill] = choice.failure_load.typical
    assert min(loads.values()) >= 0.0
    # A bar without anything in it bears next to nothing; full infill and twelve walls are the same solid bar.
    assert loads["flat", 0, 0, 0] < 0.02 * loads["flat", 12, 5, 100]
    assert loads["flat", 0, 0, 100] == pytest.approx(loads["flat", 12, 5, 20], rel=1e-6)
