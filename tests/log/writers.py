"""Processes that write to a log, some of them killed while they write; shared by a test and a benchmark."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from recommender.log import health
from recommender.log.store import open_store

ROOT = Path(__file__).resolve().parents[2]
WRITER = f"""
import sys, time
from pathlib import Path
sys.path.insert(0, {str(Path(__file__).parent)!r})
from synthetic_log import synthetic_print
from recommender.log import recording
from recommender.log.records import Observation, new_id
from recommender.log.store import open_store

path, number = Path(sys.argv[1]), int(sys.argv[2])
connection = open_store(path)
worst = 0.0
print("ready", flush=True)
for _ in range(number):
    start = time.monotonic()
    entry = synthetic_print()
    recording.add_print(connection, entry)
    print(entry.id, flush=True)
    seen = [
        Observation(print_id=entry.id, kind="mass", amount=52.5),
        Observation(print_id=entry.id, kind="broke", load=80.0, how="along layers"),
    ]
    recording.add_observations(connection, seen)
    print(*(item.id for item in seen), flush=True)
    worst = max(worst, time.monotonic() - start)
print("worst", worst, flush=True)
"""
ENDLESS = 10**9


def _writer(path: Path, number: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), str(number)],
        stdout=subprocess.PIPE, text=True, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


def acknowledged(output: str) -> list[str]:
    """Ids that a writer reported as written; a line cut short by the kill is no report."""
    whole = output[: output.rfind("\n") + 1]
    return [
        word for line in whole.splitlines() for word in line.split() if word[0] in "po" and len(word) == 10
    ]


@dataclass(slots=True)
class Kills:
    """What came of killing writers."""

    kills: int = 0
    acknowledged: int = 0
    lost: int = 0
    journals_left: int = 0
    damaged: int = 0


def kill_writers(path: Path, kills: int, seed: int = 1) -> Kills:
    """Kill a writer with SIGKILL at a random moment of its writing, `kills` times, on one log."""
    moment, result = random.Random(seed), Kills()
    open_store(path).close()
    for _ in range(kills):
        output = _killed_writer(path, moment.uniform(0.0, 0.06))
        result.kills += 1
        result.journals_left += path.with_name(path.name + "-journal").exists()
        _check(path, acknowledged(output), result)
    return result


def _killed_writer(path: Path, delay_s: float) -> str:
    with _writer(path, ENDLESS) as writer:
        assert writer.stdout is not None
        first = writer.stdout.readline()
        time.sleep(delay_s)
        writer.send_signal(signal.SIGKILL)
        return first + writer.stdout.read()


def _check(path: Path, ids: list[str], result: Kills) -> None:
    with closing(open_store(path)) as log:
        result.damaged += bool(health.check(log))
        query = (
            "SELECT (SELECT count(*) FROM prints WHERE id = :id) + count(*) FROM observations WHERE id = :id"
        )
        result.acknowledged += len(ids)
        result.lost += sum(log.execute(query, {"id": entry}).fetchone()[0] != 1 for entry in ids)


def write_at_once(path: Path, processes: int, entries: int) -> tuple[int, int, float]:
    """Let `processes` write `entries` each at once; returns entries there, entries acknowledged, worst wait s.

    A writer's turn is a print and its two observations, so `entries` / 3 turns, rounded up.
    """
    turns = -(-entries // 3)
    open_store(path).close()
    writers = [_writer(path, turns) for _ in range(processes)]
    outputs = [writer.communicate(timeout=240)[0] for writer in writers]
    ids = {entry for output in outputs for entry in acknowledged(output)}
    waits = [float(output.split()[-1]) for output in outputs if "worst" in output]
    with closing(open_store(path)) as log:
        there = {row[0] for row in log.execute("SELECT id FROM prints UNION ALL SELECT id FROM observations")}
        assert health.check(log) == []
    return len(there & ids), len(ids), max(waits)
