"""What the correction by measured bars costs the engine: whole grid with the record against without.

Run: ``python tests/benchmarks/regression.py``. Both are timed in turn in one run; the median of 9 pairs counts.
"""

from __future__ import annotations

import math
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

SECTION = {"shape": "rectangle", "width": "10 mm", "thickness": "6 mm"}
FORMS = {
    "beam, bent": (
        {"kind": "beam", "support": "simply_supported", "span": "64 mm", "section": SECTION},
        "bend",
    ),
    "bar, pulled": ({"kind": "bar", "length": "64 mm", "section": SECTION}, "pull"),
}


def main() -> None:
    """Print the ratio for a bent and a pulled member."""
    from kb.design_values import engine_values
    from kb.loading import load_knowledge_base
    from recommender.candidates import space_for
    from recommender.duty.reading import duty_from
    from recommender.evaluation import Problem, margin_on_grid
    from recommender.learned import NOTHING_LEARNED
    from recommender.regression.record import shipped_record

    knowledge = load_knowledge_base()
    printer = knowledge.printers["open_medium"]
    values = {key: engine_values(material, knowledge) for key, material in knowledge.materials.items()}
    space = space_for(tuple(values), tuple(knowledge.lattices.values()), printer, 0.4)
    for name, (form, action) in FORMS.items():
        duty = duty_from(
            {"part": name, "form": form, "loads": [{"kind": "static", "action": action, "force": "50 N"}]}
        )
        plain = Problem(duty, knowledge, printer, values, 23.0, 23.0, NOTHING_LEARNED)
        corrected = Problem(
            duty, knowledge, printer, values, 23.0, 23.0, NOTHING_LEARNED, record=shipped_record()
        )
        ratios, seconds = [], []
        for _ in range(9):
            times = []
            for problem in (plain, corrected):
                start = time.perf_counter()
                for orientation in ("flat", "edge", "upright"):
                    margin_on_grid(problem, space, orientation)
                times.append(time.perf_counter() - start)
            ratios.append(times[1] / times[0])
            seconds.append(times[1])
        print(
            f"{name}: corrected over plain {statistics.median(ratios):.2f} (median of 9 pairs; wanted at most "
            f"1.5); {3 * math.prod(space.shape):,} candidates in {statistics.median(seconds) * 1000:.0f} ms"
        )


if __name__ == "__main__":
    main()
