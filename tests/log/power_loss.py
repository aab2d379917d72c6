"""Power cuts: what a writer did to its files is recorded, and the disk as a cut could leave it is built anew.

A small library in C, loaded into the writer, records every write, truncation, removal, renaming and flush in order
(`power_loss.c`). The disk is then played back up to a random moment. Whatever was flushed before is there. Of the
rest any part may be: each write is kept, dropped, or torn at sectors of 512 bytes, whatever the others are; names
made, removed or changed since the folder was last flushed are kept up to a random one, for file systems keep their
order. That is no kinder than real disks, but for flushes that the disk itself ignores.
"""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import struct
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from recommender.errors import PartdutyError
from recommender.log import health
from recommender.log.store import open_store

ROOT = Path(__file__).resolve().parents[2]
SOURCE = Path(__file__).with_suffix(".c")
SECTOR = 512
LOG, BACKUP, TOLD = "outcomes.db", "copy.db", "acknowledged"
HEADER = struct.Struct("<ciiqII")
WRITER = f"""
import os, sys
from pathlib import Path
sys.path.insert(0, {str(Path(__file__).parent)!r})
from synthetic_log import synthetic_print
from recommender.log import recording
from recommender.log.records import Observation
from recommender.log.store import backup_to, open_store

folder, turns, setting = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
told = os.open(folder / {TOLD!r}, os.O_CREAT | os.O_WRONLY)
connection = open_store(folder / {LOG!r})
if setting:
    connection.execute(setting)
for turn in range(turns):
    entry = synthetic_print(spool=f"spool {{turn}}")
    recording.add_print(connection, entry)
    os.write(told, f"{{entry.id}}\\n".encode())
    seen = [
        Observation(print_id=entry.id, kind="mass", amount=52.5),
        Observation(print_id=entry.id, kind="note", words="synthetic " * 40),
    ]
    recording.add_observations(connection, seen)
    os.write(told, "".join(f"{{item.id}}\\n" for item in seen).encode())
    if turn == turns // 2:
        backup_to(connection, folder / {BACKUP!r})
        os.write(told, b"backup\\n")
"""


def compiler() -> str | None:
    """The C compiler of this machine; None where there is none."""
    return shutil.which("cc") or shutil.which("gcc")


def record_writer(folder: Path, turns: int, setting: str = "") -> list[Event]:
    """Let a writer fill the log in `folder` / "disk" and return all it did; `setting` is a statement it runs first."""
    disk, library, record = folder / "disk", folder / "recorder.so", folder / "record"
    disk.mkdir(exist_ok=True)
    subprocess.run(
        [str(compiler()), "-shared", "-fPIC", "-O1", "-o", str(library), str(SOURCE), "-ldl"], check=True
    )
    environment = {
        **os.environ, "PYTHONPATH": str(ROOT), "LD_PRELOAD": str(library),
        "POWER_FOLDER": str(disk.resolve()), "POWER_LOG": str(record),
    }  # fmt: skip
    command = [sys.executable, "-c", WRITER, str(disk.resolve()), str(turns), setting]
    subprocess.run(command, cwd=ROOT, env=environment, check=True)
    return list(_events(record.read_bytes()))


@dataclass(frozen=True, slots=True)
class Event:
    """One thing done: to which open file, with which flags, where, with what."""

    what: str
    file: int
    flags: int
    offset: int
    first: bytes
    second: bytes


def _events(record: bytes) -> Iterator[Event]:
    place = 0
    while place < len(record):
        what, file, flags, offset, first, second = HEADER.unpack_from(record, place)
        middle = place + HEADER.size + first
        place = middle + second
        yield Event(what.decode(), file, flags, offset, record[middle - first : middle], record[middle:place])


@dataclass(slots=True)
class _File:
    """What is on the disk of a file for certain, and what was done since: writes and truncations."""

    certain: bytes = b""
    pending: list[Event] = field(default_factory=list)

    def flush(self) -> None:
        content = bytearray(self.certain)
        for event in self.pending:
            _apply(content, event)
        self.certain, self.pending = bytes(content), []

    def after_a_cut(self, chance: random.Random, kept: float) -> bytes:
        content = bytearray(self.certain)
        for event in self.pending:
            if event.what == "w" and chance.random() < 0.25:
                _tear(content, event, chance, kept)
            elif chance.random() < kept:
                _apply(content, event)
        return bytes(content)


def _apply(content: bytearray, event: Event) -> None:
    if event.what == "t":
        del content[event.offset :]
    else:
        _put(content, event.offset, event.first)
    content.extend(bytes(max(event.offset - len(content), 0)))


def _put(content: bytearray, offset: int, part: bytes) -> None:
    content.extend(bytes(max(offset - len(content), 0)))
    content[offset : offset + len(part)] = part


def _tear(content: bytearray, event: Event, chance: random.Random, kept: float) -> None:
    """Some sectors of a write, at their places on the disk."""
    start, end = event.offset, event.offset + len(event.first)
    while start < end:
        stop = min((start // SECTOR + 1) * SECTOR, end)
        if chance.random() < kept:
            _put(content, start, event.first[start - event.offset : stop - event.offset])
        start = stop


Names = dict[str, _File]


@dataclass(slots=True)
class Disk:
    """Files and names, as the writer sees them and as they are certain to be found after a power cut."""

    names: Names = field(default_factory=dict)
    certain_names: Names = field(default_factory=dict)
    pending_names: list[Names] = field(default_factory=list)
    open_files: dict[int, _File | None] = field(default_factory=dict)
    told: list[str] = field(default_factory=list)

    def play(self, event: Event) -> None:
        """Do what the writer did."""
        if event.what == "o":
            self._open(event)
        elif event.what == "u":
            self._rename({name: file for name, file in self.names.items() if name != event.first.decode()})
        elif event.what == "r":
            old, new = event.first.decode(), event.second.decode()
            self._rename({**{n: f for n, f in self.names.items() if n != old}, new: self.names[old]})
        elif event.what == "c":
            self.open_files.pop(event.file)
        elif event.what == "s":
            self._flush(self.open_files[event.file])
        else:
            self._change(self.open_files[event.file], event)

    def _open(self, event: Event) -> None:
        name = event.first.decode()
        if name == ".":
            self.open_files[event.file] = None
            return
        if name not in self.names:
            self._rename({**self.names, name: _File()})
        self.open_files[event.file] = self.names[name]
        if event.flags & 2:
            self.names[name].pending.append(Event("t", event.file, 0, 0, b"", b""))

    def _rename(self, names: Names) -> None:
        self.names = names
        self.pending_names.append(names)

    def _flush(self, file: _File | None) -> None:
        if file is not None:
            file.flush()
        else:  # the folder
            self.certain_names, self.pending_names = self.names, []

    def _change(self, file: _File | None, event: Event) -> None:
        assert file is not None
        if file is self.names.get(TOLD):
            self.told += event.first.decode().split()
        else:
            file.pending.append(event)

    def as_seen(self) -> dict[str, bytes]:
        """The files as the writer sees them."""
        for file in self.names.values():
            file.flush()
        return {name: file.certain for name, file in self.names.items() if name != TOLD}

    def after_a_cut(self, chance: random.Random) -> dict[str, bytes]:
        """The files as a power cut at this moment could leave them."""
        kept = chance.choice((0.0, 0.25, 0.5, 0.75, 1.0))
        names = chance.choice([self.certain_names, *self.pending_names])
        return {name: file.after_a_cut(chance, kept) for name, file in names.items() if name != TOLD}


@dataclass(slots=True)
class Cuts:
    """What came of power cuts: entries acknowledged before them and of these lost, logs and turns damaged."""

    cuts: int = 0
    acknowledged: int = 0
    lost: int = 0
    damaged: int = 0
    half: int = 0
    rolled_back: int = 0
    reports: list[str] = field(default_factory=list)

    @property
    def sound(self) -> bool:
        """Whether nothing was lost, damaged or half there."""
        return not (self.lost or self.damaged or self.half)


def cut_power(
    events: list[Event],
    cuts: int,
    folder: Path,
    before: dict[str, bytes] | None = None,
    told: tuple[str, ...] = (),
) -> Cuts:
    """Cut the power at `cuts` random moments of what was recorded, and open what is left.

    `before` are the files that lay on the disk at first, and `told` the entries in them.
    """
    chance, result = random.Random(1), Cuts()
    names = {name: _File(content) for name, content in (before or {}).items()}
    disk = Disk(names=names, certain_names=names, told=list(told))
    moments = sorted(chance.choices(range(1, len(events) + 1), k=cuts))
    for number, event in enumerate(events, start=1):
        disk.play(event)
        while moments and moments[0] == number:
            moments.pop(0)
            _open_what_is_left(disk.after_a_cut(chance), disk.told, folder / f"cut {len(moments)}", result)
    return result


def _open_what_is_left(files: dict[str, bytes], told: list[str], folder: Path, result: Cuts) -> None:
    folder.mkdir()
    for name, content in files.items():
        (folder / name).write_bytes(content)
    result.cuts += 1
    result.rolled_back += bool(files.get(f"{LOG}-journal"))
    ids = [word for word in told if word != "backup"]
    result.acknowledged += len(ids)
    _look_into(folder / LOG, ids, result)
    if "backup" in told:
        if (folder / BACKUP).exists():
            _look_into(folder / BACKUP, told[: told.index("backup")], result)
        else:
            result.lost += 1
    shutil.rmtree(folder)


def _look_into(path: Path, ids: list[str], result: Cuts) -> None:
    try:
        with closing(open_store(path)) as log:
            result.damaged += bool(health.check(log))
            rows = log.execute("SELECT id FROM prints UNION ALL SELECT id FROM observations")
            result.lost += len(set(ids) - {row[0] for row in rows})
            result.half += log.execute(
                "SELECT count(*) FROM (SELECT print_id FROM observations GROUP BY 1 HAVING count(*) = 1)"
            ).fetchone()[0]
    except (PartdutyError, sqlite3.Error) as error:
        result.damaged += 1
        result.reports.append(str(error))
