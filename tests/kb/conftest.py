"""A knowledge base small enough to break one thing at a time, and a cache of its own."""

from __future__ import annotations

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from kb.loading import KB_FOLDER

Plain = Any


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Tests neither read nor write the user's cache."""
    cache = tmp_path / "cache"
    monkeypatch.setenv("XDG_CACHE_HOME", str(cache))
    return cache


@pytest.fixture(scope="session")
def originals() -> dict[str, Plain]:
    """One material, the printers and the lattices of ours, as plain data."""
    read = {
        "materials/petg.yaml": KB_FOLDER / "materials" / "petg.yaml",
        "printers/classes.yaml": KB_FOLDER / "printers" / "classes.yaml",
        "lattices.yaml": KB_FOLDER / "lattices.yaml",
        "design_factors.yaml": KB_FOLDER / "design_factors.yaml",
    }
    files = {name: yaml.safe_load(path.read_text(encoding="utf-8")) for name, path in read.items()}
    bibliography = yaml.safe_load((KB_FOLDER / "sources.yaml").read_text(encoding="utf-8"))
    cited = _cited(files)
    return {**files, "sources.yaml": {key: bibliography[key] for key in bibliography if key in cited}}


def _cited(value: Plain) -> set[str]:
    if isinstance(value, dict):
        own = {value["source"]} if "source" in value else set(value.get("sources", ()))
        return own.union(*(_cited(v) for v in value.values()))
    return set().union(*(_cited(v) for v in value)) if isinstance(value, list) else set()


@pytest.fixture
def small_base(tmp_path: Path, originals: dict[str, Plain]) -> Callable[..., Path]:
    """Writes the small knowledge base, after ``change`` has been at its files, and returns its folder."""

    def write(change: Callable[[dict[str, Plain]], object] = lambda files: None) -> Path:
        files = copy.deepcopy(originals)
        change(files)
        folder = tmp_path / "base"
        for name, content in files.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            text = content if isinstance(content, str) else yaml.safe_dump(content, allow_unicode=True)
            path.write_text(text, encoding="utf-8")
        return folder

    return write
