"""What every test shares."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # small matrices: more threads only wait for each other


@pytest.fixture(autouse=True)
def no_log_of_the_user(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the outcome log of whoever runs it."""
    nowhere: Path = tmp_path_factory.getbasetemp() / "no-log" / "outcomes.db"
    monkeypatch.setenv("PARTDUTY_STORE", str(nowhere))
