"""Imports point one way: a module may import only from its own room or from a lower one."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

# Lowest first. A room may import from rooms of a lower rank and from itself, not from its peers.
RANKS: dict[str, int] = {
    "kb": 0,
    "recommender.errors": 0,
    "recommender.mechanics": 0,
    "recommender.quantities": 1,
    "recommender.duty": 2,
    "recommender.section": 2,
    "recommender.learned": 2,
    "recommender.candidates": 3,
    "recommender.capability": 3,
    "recommender.rules": 3,
    "recommender.regression": 3,
    "recommender.regression.training": 11,
    "recommender.geometry": 3,
    "recommender.limit_states": 4,
    "recommender.cost": 5,
    "recommender.answer": 2,
    "recommender.evaluation": 6,
    "recommender.choose": 7,
    "recommender.options": 8,
    "recommender.explanation": 9,
    "recommender.home_tests": 9,
    "recommender.suggest": 10,
    "recommender.log": 11,
    "recommender.report": 12,
    "recommender.cli": 13,
}


def room_of(module: str) -> str | None:
    for room in sorted(RANKS, key=len, reverse=True):
        if module == room or module.startswith(room + "."):
            return room
    return None


def imports_of(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            found.update({node.module} | {f"{node.module}.{alias.name}" for alias in node.names})
    return found


def upward_imports(root: Path) -> list[str]:
    wrong = []
    for path in sorted([*root.glob("kb/**/*.py"), *root.glob("recommender/**/*.py")]):
        module = ".".join(path.relative_to(root).with_suffix("").parts).removesuffix(".__init__")
        here = room_of(module)
        if module in ("recommender",):
            continue
        if here is None:
            wrong.append(f"{module}: this room has no rank; add it to RANKS")
            continue
        for target in imports_of(path):
            there = room_of(target)
            if there and there != here and RANKS[there] >= RANKS[here]:
                wrong.append(f"{module} imports {target} (rank {RANKS[here]} from {RANKS[there]})")
    return wrong


def test_imports_point_one_way() -> None:
    assert upward_imports(ROOT) == []


def test_the_check_can_fail(tmp_path: Path) -> None:
    (tmp_path / "kb").mkdir()
    (tmp_path / "kb" / "bad.py").write_text("from recommender.cli import app\n", encoding="utf-8")
    assert "kb.bad imports recommender.cli (rank 0 from 13)" in upward_imports(tmp_path)


def test_no_relative_imports() -> None:
    for path in [*ROOT.glob("kb/**/*.py"), *ROOT.glob("recommender/**/*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            assert not (isinstance(node, ast.ImportFrom) and node.level), f"{path}: write imports in full"
