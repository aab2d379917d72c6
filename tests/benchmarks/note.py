"""Time of `partduty note` as a whole process against `partduty suggest` on the same sheet.

Usage: ``python tests/benchmarks/note.py [--runs 7] [SHEET ...]``. Prints the median and the spread of each format as
a multiple of `suggest` in the same run; the runs alternate, so that a busy machine slows both.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "datasets" / "examples"
DEFAULT = ("shed_shelf_bracket", "curtain_rod_end", "greenhouse_vent_arm")
WANTED = 3.0  # times `suggest`, for the PDF
FORMATS = ("pdf", "html", "md", "txt")


def seconds(arguments: list[str]) -> float:
    """Wall-clock time of one whole process; a wrong exit code stops the benchmark."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "recommender.cli", *arguments], capture_output=True, env=environment
    )
    taken = time.perf_counter() - start
    if done.returncode not in (0, 1):
        raise SystemExit(done.stderr.decode())
    return taken


def ratios(sheet: Path, runs: int) -> dict[str, list[float]]:
    """Times of each format, and of the maker's checklist, over that of `suggest`, run by run."""
    found: dict[str, list[float]] = {}
    with tempfile.TemporaryDirectory() as folder:
        commands = {
            form: ["note", str(sheet), "--format", form, "--out", f"{folder}/note.{form}"] for form in FORMATS
        }
        commands["maker pdf"] = ["note", str(sheet), "--maker", "--out", f"{folder}/maker.pdf"]
        seconds(["suggest", str(sheet)])  # fills the caches
        for _ in range(runs):
            base = seconds(["suggest", str(sheet)])
            for name, arguments in commands.items():
                found.setdefault(name, []).append(seconds(arguments) / base)
            found.setdefault("suggest, ms", []).append(1000 * base)
    return found


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sheets", nargs="*", type=Path)
    parser.add_argument("--runs", type=int, default=7)
    given = parser.parse_args()
    slow = False
    for sheet in given.sheets or [EXAMPLES / f"{name}.yaml" for name in DEFAULT]:
        found = ratios(sheet, given.runs)
        base = statistics.median(found.pop("suggest, ms"))
        print(f"{sheet.stem}: suggest {base:.0f} ms")
        for name, values in found.items():
            middle = statistics.median(values)
            slow |= name == "pdf" and middle > WANTED
            print(f"  {name:10s} {middle:.2f} times suggest ({min(values):.2f} to {max(values):.2f})")
    print(f"wanted: pdf at most {WANTED:g} times suggest: {'NOT met' if slow else 'met'}")
    return int(slow)


if __name__ == "__main__":
    sys.exit(main())
