"""A fresh log for each test."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from recommender.log.store import open_store


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "outcomes.db"


@pytest.fixture
def log(path: Path) -> Iterator[sqlite3.Connection]:
    with closing(open_store(path)) as connection:
        yield connection
