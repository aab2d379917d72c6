"""Benchmarks of the outcome log.

    python tests/benchmarks/log.py crash [KILLS]       500 kills with SIGKILL under writing
    python tests/benchmarks/log.py power [CUTS]        5,000 power cuts at random moments of a recorded writer
    python tests/benchmarks/log.py writers             8 processes writing 200 entries each
    python tests/benchmarks/log.py million [ROWS]      a log of 1,000,000 observations against an empty one

All entries are synthetic. Times are medians of whole processes, interleaved; the ratios are what counts.
"""

from __future__ import annotations

import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "log")]

from power_loss import cut_power, record_writer  # noqa: E402
from synthetic_log import synthetic_print  # noqa: E402
from tabulate import tabulate  # noqa: E402
from writers import kill_writers, write_at_once  # noqa: E402

from recommender.log import recording, summary  # noqa: E402
from recommender.log.classes import lesson_of  # noqa: E402
from recommender.log.records import Observation, Print  # noqa: E402
from recommender.log.store import open_store, writing  # noqa: E402

SHEET = ROOT / "datasets" / "examples" / "test_bar.yaml"
PRINTERS = ("open_medium", "bench", "cellar")
MATERIALS = ("pla", "petg", "abs", "asa", "pa12", "pc", "pla_ht", "pmma")
SPOOLS = 25  # of each material
SIZES = [(f, n) for f in ("hole", "slot", "outside", "gap") for n in (0.4, 3.0, 5.0, 8.0, 14.0, 20.0, 60.0)]
REPEATS = 9


def crash(kills: int = 500) -> None:
    with tempfile.TemporaryDirectory() as folder:
        start = time.monotonic()
        result = kill_writers(Path(folder) / "outcomes.db", kills)
        print(f"kills                    {result.kills}")
        print(f"entries acknowledged     {result.acknowledged}")
        print(f"of these lost            {result.lost}")
        print(f"store found damaged      {result.damaged}")
        print(f"killed inside a write    {result.journals_left} (a journal was left to roll back)")
        print(f"took                     {time.monotonic() - start:.0f} s")


def power(cuts: int = 5000) -> None:
    rows = []
    for setting in ("EXTRA (ours)", "FULL", "OFF"):
        with tempfile.TemporaryDirectory() as folder:
            statement = "" if "ours" in setting else f"PRAGMA synchronous = {setting}"
            result = cut_power(record_writer(Path(folder), 40, statement), cuts, Path(folder))
        rows.append(
            [
                setting,
                result.cuts,
                result.rolled_back,
                result.acknowledged,
                result.lost,
                result.damaged,
                result.half,
            ]
        )
    headers = ["synchronous", "cuts", "in a write", "acknowledged", "lost", "damaged", "half there"]
    print(tabulate(rows, headers=headers))


def writers() -> None:
    with tempfile.TemporaryDirectory() as folder:
        start = time.monotonic()
        there, told, worst = write_at_once(Path(folder) / "outcomes.db", processes=8, entries=200)
        print(f"acknowledged {told}, present {there} (1,600 asked, in turns of three)")
        print(f"worst wait for one turn {worst:.2f} s, all took {time.monotonic() - start:.1f} s")


def million(rows: int = 1_000_000) -> None:
    with tempfile.TemporaryDirectory() as folder:
        empty, full = Path(folder) / "empty.db", Path(folder) / "full.db"
        for path in (empty, full):
            _one_print(path)
        start = time.monotonic()
        _fill(full, rows)
        print(f"filled with {rows} observations in {time.monotonic() - start:.0f} s, "
              f"{full.stat().st_size / 1e6:.0f} MB")  # fmt: skip
        for name, command in COMMANDS.items():
            _compare(name, command, empty, full)
        for words in (["learned"], ["sizes", "--material", "petg", "--printer", "bench"], ["log", "check"]):
            wall, cpu = _took(words, full)
            target = " (target: within 5 s)" if words == ["learned"] else ""
            print(f"{' '.join(words)}: {wall:.2f} s, processor time {cpu:.2f} s{target}")


COMMANDS = {
    "suggest (target < 1.3)": ["suggest", str(SHEET)],
    "log observe (target < 2)": ["log", "observe", "paaaaaa", "--mass", "52 g"],
    "log list": ["log", "list"],
}


def _compare(name: str, command: list[str], empty: Path, full: Path) -> None:
    times: dict[Path, list[tuple[float, float]]] = {empty: [], full: []}
    for _ in range(REPEATS):
        for path, taken in times.items():
            taken.append(_took(command, path))
    base, loaded = (_medians(times[path]) for path in (empty, full))
    print(
        f"{name}: empty {base[0]:.0f} ms, full {loaded[0]:.0f} ms, ratio {loaded[0] / base[0]:.2f}; "
        f"processor time {base[1]:.0f} and {loaded[1]:.0f} ms, ratio {loaded[1] / base[1]:.2f}"
    )


def _medians(taken: list[tuple[float, float]]) -> tuple[float, float]:
    """Median wall time and processor time, ms."""
    return 1000 * statistics.median(wall for wall, _ in taken), 1000 * statistics.median(
        cpu for _, cpu in taken
    )


def _took(command: list[str], path: Path) -> tuple[float, float]:
    """Wall time and processor time of one whole process, s. The second hardly minds a busy machine."""
    start, before = time.monotonic(), os.times()
    environment = {**os.environ, "PARTDUTY_STORE": str(path)}
    done = subprocess.run(
        [sys.executable, "-m", "recommender.cli", *command],
        cwd=ROOT, env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode not in (0, 1) or "error" in done.stderr:
        raise SystemExit(done.stderr)
    after = os.times()
    used = after.children_user + after.children_system - before.children_user - before.children_system
    return time.monotonic() - start, used


def _one_print(path: Path) -> None:
    with closing(open_store(path)) as log:
        recording.add_print(log, synthetic_print(id="paaaaaa", printer="open_medium", material="petg"))


def _fill(path: Path, rows: int) -> None:
    """Synthetic prints with four observations each, entered in one transaction."""
    chance = random.Random(7)
    with closing(open_store(path)) as log, writing(log):
        prints = [_synthetic_print(log, number, chance) for number in range(rows // 4)]
        columns = (*recording.PRINT_FIELDS, "group_id", "pool_id")
        log.executemany(_insert("prints", columns), prints)
        seen = (row for number in range(rows // 4) for row in _synthetic_rows(number, chance))
        log.executemany(_insert("observations", (*NAMES, *summary.LESSON_COLUMNS)), seen)
        summary.rebuild(log)


def _insert(table: str, columns: tuple[str, ...]) -> str:
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})"


def _synthetic_print(log: object, number: int, chance: random.Random) -> tuple[object, ...]:
    material = chance.choice(MATERIALS)
    entry: Print = Print.model_construct(
        **{
            **TYPICAL.model_dump(),
            "id": f"pm{number:08d}",
            "made_at": f"20{10 + number % 16:02d}-0{1 + number % 9}-11T10:00:00Z",
            "printer": chance.choice(PRINTERS),
            "material": material,
            "spool": f"{material} {chance.randrange(SPOOLS)}",
        }
    )
    groups = recording.groups_of(log, entry)  # type: ignore[arg-type]
    return (*recording._print_values(entry), groups["group_id"], groups["pool_id"])


TYPICAL = synthetic_print(id="paaaaaa")
NAMES = (
    "id", "print_id", "entered_at", "kind", "feature", "nominal_mm", "measured_mm", "load", "amount", "words",
)  # fmt: skip


def _synthetic_rows(number: int, chance: random.Random) -> list[tuple[object, ...]]:
    feature, nominal = chance.choice(SIZES)
    size = max(nominal + chance.gauss(-0.1, 0.08), 0.01)
    rows: list[dict[str, object]] = [
        {"kind": "size", "feature": feature, "nominal_mm": nominal, "measured_mm": size},
        {"kind": "time", "amount": 100 * chance.lognormvariate(0.2, 0.08)},
        {"kind": "mass", "amount": 50 * chance.lognormvariate(0.1, 0.05)},
    ]
    kind = chance.random()
    if kind < 0.5:
        rows.append({"kind": "event", "words": chance.choice(["first-time right", "warped"])})
    else:
        load = 100 * chance.lognormvariate(-0.2, 0.15)
        rows.append({"kind": "broke" if kind < 0.8 else "held", "load": load})
    return [_row(number, index, fields) for index, fields in enumerate(rows)]


def _row(number: int, index: int, fields: dict[str, object]) -> tuple[object, ...]:
    identity = {"id": f"om{number:08d}{index}", "print_id": f"pm{number:08d}", "entered_at": TYPICAL.made_at}
    seen = Observation.model_construct(**identity, **fields)  # type: ignore[arg-type]
    values = [getattr(seen, name) for name in NAMES]
    return (*values, *summary.lesson_columns(lesson_of(TYPICAL, seen)))


if __name__ == "__main__":
    task, *rest = sys.argv[1:] or ["help"]
    tasks = {"crash": crash, "power": power, "writers": writers, "million": million}
    if task not in tasks:
        raise SystemExit(__doc__)
    tasks[task](*(int(text) for text in rest))  # type: ignore[operator]
