"""Nothing acknowledged is lost by a power cut: what the writer did is recorded, and cut at random moments."""

from __future__ import annotations

import random
import sys
from pathlib import Path

import pytest
from old_stores import made_with_schema
from power_loss import BACKUP, LOG, TOLD, Disk, Event, compiler, cut_power, record_writer

needs_recorder = pytest.mark.skipif(
    sys.platform != "linux" or compiler() is None,
    reason="the recorder of writes needs Linux and a C compiler",
)


def event(what: str, file: int = 3, offset: int = 0, first: bytes = b"", flags: int = 0) -> Event:
    return Event(what, file, flags, offset, first, b"")


def test_a_write_may_be_lost_until_it_is_flushed_and_its_name_until_the_folder_is() -> None:
    disk, chance = Disk(), random.Random(1)
    for step in (event("o", first=b"log", flags=1), event("w", first=b"a" * 1024), event("s")):
        disk.play(step)
    assert {tuple(disk.after_a_cut(chance)) for _ in range(50)} == {(), ("log",)}
    for step in (event("o", 4, first=b"."), event("s", 4), event("w", offset=512, first=b"b" * 1024)):
        disk.play(step)
    left = {disk.after_a_cut(chance)["log"] for _ in range(200)}
    assert {b"a" * 1024, b"a" * 512 + b"b" * 1024} < left  # dropped, kept
    assert b"a" * 512 + b"b" * 512 in left  # torn: the first sector alone
    assert b"a" * 1024 + b"b" * 512 in left  # torn: the second alone
    disk.play(event("s"))
    assert {disk.after_a_cut(chance)["log"] for _ in range(50)} == {b"a" * 512 + b"b" * 1024}


@needs_recorder
def test_the_record_is_all_that_was_done(tmp_path: Path) -> None:
    disk = Disk()
    for step in record_writer(tmp_path, turns=4):
        disk.play(step)
    there = {file.name: file.read_bytes() for file in (tmp_path / "disk").iterdir() if file.name != TOLD}
    assert disk.as_seen() == there
    assert set(there) == {LOG, BACKUP}
    assert len(disk.told) == 4 * 3 + 1


@needs_recorder
def test_no_acknowledged_entry_is_lost_by_a_power_cut(tmp_path: Path) -> None:
    # 5,000 cuts are `python tests/benchmarks/log.py power`.
    result = cut_power(record_writer(tmp_path, turns=15), cuts=400, folder=tmp_path)
    assert result.sound, result
    assert result.acknowledged > 400
    assert result.rolled_back > 50  # so many cuts fell inside a write


@needs_recorder
def test_a_power_cut_while_the_schema_is_brought_up_loses_nothing(tmp_path: Path) -> None:
    (tmp_path / "disk").mkdir()
    old = tmp_path / "disk" / LOG
    made_with_schema(old, 1)
    before = {LOG: old.read_bytes()}
    result = cut_power(
        record_writer(tmp_path, turns=1), 300, tmp_path, before, ("paaaaaa", "obbbbb1", "obbbbb2", "obbbbb3")
    )
    assert result.sound, result
    assert result.rolled_back > 50


@needs_recorder
def test_less_flushing_does_lose_entries(tmp_path: Path) -> None:
    # FULL flushes no folder after the journal is removed, so the last entry may come undone; OFF flushes nothing.
    (tmp_path / "full").mkdir()
    (tmp_path / "off").mkdir()
    full = cut_power(record_writer(tmp_path / "full", 15, "PRAGMA synchronous = FULL"), 200, tmp_path)
    assert (full.lost > 0, full.damaged) == (True, 0)
    off = cut_power(record_writer(tmp_path / "off", 15, "PRAGMA synchronous = OFF"), 200, tmp_path)
    assert off.lost > 100
    assert off.damaged > 0
