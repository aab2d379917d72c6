"""Regression test on our own data: row counts and column sums, so that a slip of the keyboard fails.

Nothing here is a physical truth. After a wanted change of the data write the new sums with
``PYTHONPATH=. python tests/kb/test_pinned_sums.py`` and look at the difference.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from kb.loading import load_knowledge_base
from kb.schema import PowerLaw

PINNED = Path(__file__).with_name("pinned_sums.json")


def total(values: Iterable[float | None]) -> float:
    return round(sum(v for v in values if v is not None), 6)


def material_sums(key: str) -> dict[str, float]:
    material = load_knowledge_base().materials[key]
    columns = {name: total(getattr(f, name) for f in material.facts) for name in ("low", "typical", "high")}
    letters = sum(len(f.text or "") + len(f.source) + len(f.unit) for f in material.facts)
    points = total(v for curve in material.curves for point in curve.points for v in point)
    return {"facts": len(material.facts), **columns, "letters": letters, "curve_points": points}


def numbers_in(value: Any) -> list[float]:
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return []
    if isinstance(value, int | float):
        return [float(value)]
    if isinstance(value, PowerLaw):
        return [value.coefficient, value.exponent]
    return [n for item in value for n in numbers_in(item)]


def other_sums() -> dict[str, list[float]]:
    knowledge = load_knowledge_base()
    sums = {f"printer {key}": numbers_in(printer) for key, printer in knowledge.printers.items()}
    sums |= {f"lattice {key}": numbers_in(lattice) for key, lattice in knowledge.lattices.items()}
    factors = [row.get("factor") for row in knowledge.table("design_factors")]
    sums["design factors"] = [float(v) for v in factors if v is not None]
    return {name: [len(values), total(values)] for name, values in sums.items()}


def all_sums() -> dict[str, Any]:
    keys = sorted(load_knowledge_base().materials)
    return {"materials": {key: material_sums(key) for key in keys}, "others": other_sums()}


def pinned() -> dict[str, Any]:
    content: dict[str, Any] = {"materials": {}}
    return json.loads(PINNED.read_text(encoding="utf-8")) if PINNED.exists() else content


def test_the_same_materials_are_there() -> None:
    assert sorted(load_knowledge_base().materials) == sorted(pinned()["materials"])
    assert len(pinned()["materials"]) == 31


@pytest.mark.parametrize("key", sorted(pinned()["materials"]))
def test_sums_of_a_material(key: str) -> None:
    assert material_sums(key) == pinned()["materials"][key]


def test_sums_of_printers_lattices_and_factors() -> None:
    assert other_sums() == pinned()["others"]


if __name__ == "__main__":
    PINNED.write_text(json.dumps(all_sums(), indent=1) + "\n", encoding="utf-8")
    print(f"wrote {PINNED}")
