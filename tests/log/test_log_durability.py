"""Nothing acknowledged is lost: writers killed while they write, and several writing at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from writers import acknowledged, kill_writers, write_at_once


def test_a_cut_line_is_no_acknowledgement() -> None:
    assert acknowledged("ready\np000000001\no000000001 o00000") == ["p000000001"]


@pytest.mark.slow
def test_no_acknowledged_entry_is_lost_by_a_kill(path: Path) -> None:
    # The full run of 500 kills is `python tests/benchmarks/log.py crash`.
    result = kill_writers(path, kills=25)
    assert (result.kills, result.lost, result.damaged) == (25, 0, 0)
    assert result.acknowledged > 25


@pytest.mark.slow
def test_eight_writers_at_once_lose_nothing(path: Path) -> None:
    # The full run of 200 entries each is `python tests/benchmarks/log.py writers`.
    there, told, _ = write_at_once(path, processes=8, entries=30)
    assert there == told == 8 * 30
