"""Speed of the engine: candidates a second through all limit states of a beam, and `suggest` as a process.

Run: ``python tests/benchmarks/engine.py``. Ratios are within one run: against a Python loop over the same
limit states for the rate, against the bare imports for the process.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

BASELINE = "import numpy, pydantic, typer, tabulate"
BEAM = {
    "part": "beam",
    "form": {
        "kind": "beam", "support": "simply_supported", "span": "64 mm",
        "section": {"shape": "rectangle", "width": "10 mm", "thickness": "6 mm"},
    },
    "loads": [{"kind": "static", "action": "bend", "force": "50 N", "at": "middle"}],
}  # fmt: skip


def beam_rate() -> None:
    """Candidates a second, whole grid at once, against one candidate at a time."""
    from kb.design_values import engine_values
    from kb.loading import load_knowledge_base
    from recommender.candidates import space_for
    from recommender.duty.reading import duty_from
    from recommender.evaluation import Problem, margin_on_grid
    from recommender.learned import NOTHING_LEARNED

    knowledge = load_knowledge_base()
    printer = knowledge.printers["open_medium"]
    values = {key: engine_values(material, knowledge) for key, material in knowledge.materials.items()}
    problem = Problem(duty_from(BEAM), knowledge, printer, values, 23.0, 23.0, NOTHING_LEARNED)
    space = space_for(tuple(values), tuple(knowledge.lattices.values()), printer, 0.4)
    margin_on_grid(problem, space, "flat")
    rates = []
    for _ in range(7):
        start = time.perf_counter()
        total = sum(margin_on_grid(problem, space, o).size for o in ("flat", "edge", "upright"))
        rates.append(total / (time.perf_counter() - start))
    ones = [space.narrowed_to((m, 0, 0, 0, 0, 0, 0)) for m in range(len(values))]
    start = time.perf_counter()
    for one in ones:
        margin_on_grid(problem, one, "flat")
    loop = len(ones) / (time.perf_counter() - start)
    rate = statistics.median(rates)
    print(f"beam, all limit states: {total:,} candidates, {rate / 1e6:.1f} million a second (median of 7)")
    print(
        f"  one candidate at a time: {loop:,.0f} a second; ratio {rate / loop:,.0f} (wanted: 5 million a second)"
    )


def process_time(code: list[str], runs: int = 9) -> list[float]:
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        subprocess.run([sys.executable, *code], cwd=ROOT, stdout=subprocess.DEVNULL, check=False)
        times.append(time.perf_counter() - start)
    return times


def suggest_process() -> None:
    """`partduty suggest` against the bare imports, in turn, and its peak memory."""
    sheets = [ROOT / "datasets/examples/test_bar.yaml", ROOT / "datasets/examples/greenhouse_vent_arm.yaml"]
    for sheet in sheets:
        ratios, suggest_s = [], []
        process_time(["-m", "recommender.cli", "suggest", str(sheet)], 1)
        for _ in range(9):
            ours = process_time(["-m", "recommender.cli", "suggest", str(sheet)], 1)[0]
            bare = process_time(["-c", BASELINE], 1)[0]
            ratios.append(ours / bare)
            suggest_s.append(ours)
        print(
            f"suggest {sheet.name}: {statistics.median(suggest_s) * 1000:.0f} ms, ratio to the bare imports "
            f"{statistics.median(ratios):.2f} (median of 9 pairs; wanted at most 2.0)"
        )
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"  peak memory of suggest: {peak:.0f} MB (wanted below 250)")


if __name__ == "__main__":
    suggest_process()
    beam_rate()
