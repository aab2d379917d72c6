"""Our own files load without a fault and give the engine every number it needs."""

from __future__ import annotations

import pytest

from kb.design_values import engine_values
from kb.loading import load_knowledge_base
from kb.validation import problems

KNOWLEDGE = load_knowledge_base()


def test_our_files_have_no_fault() -> None:
    assert problems() == []


@pytest.mark.parametrize("key", sorted(KNOWLEDGE.materials))
def test_every_material_gives_ordered_engine_values(key: str) -> None:
    values = engine_values(KNOWLEDGE.materials[key], KNOWLEDGE)
    for name in values.__slots__:
        value = getattr(values, name)
        if hasattr(value, "typical"):
            assert value.low <= value.typical <= value.high, name
            assert value.reason and value.sources, name
    assert values.strength_mpa.low > 0
