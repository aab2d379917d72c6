"""Speed of the rules: refusals, cautions and near misses of one sheet, against reading that sheet.

Run: ``python tests/benchmarks/rules.py``. Processor time, so that a busy machine matters less; the ratio is within
one run, against checking the same sheet's fields.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

SHEET = {
    "part": "shelf bracket for the shed",
    "purpose": "It carries paint cans over the work bench, out of the rain, beside the window. " * 3,
    "notes": "Painted white; the first one lasted a year and then sagged near the wall.",
    "form": {
        "kind": "bar", "length": "80 mm",
        "section": {"shape": "rectangle", "width": "10 mm", "thickness": "4 mm"},
    },
    "loads": [{"kind": "sustained", "action": "pull", "force": "50 N"}],
    "place": {"outdoors": True, "chemicals": ["engine oil"]},
}  # fmt: skip


def milliseconds(call: Callable[[], object], times: int) -> float:
    start = time.process_time()
    for _ in range(times):
        call()
    return (time.process_time() - start) / times * 1e3


def main() -> None:
    from kb.loading import load_knowledge_base
    from recommender.duty.reading import duty_from
    from recommender.rules.book import rule_book
    from recommender.rules.cautions import cautions_for
    from recommender.rules.refusals import near_misses, refused_uses

    knowledge = load_knowledge_base()
    first = milliseconds(lambda: rule_book(knowledge), 1)

    def all_rules() -> None:
        duty = duty_from(SHEET)
        refused_uses(duty, knowledge)
        cautions_for(duty, "petg", {"orientation": "flat", "infill_percent": 20}, knowledge)
        near_misses(duty, knowledge)

    all_rules()
    reading = milliseconds(lambda: duty_from(SHEET), 200)
    together = milliseconds(all_rules, 200)
    rules = together - reading
    print(f"first use of the rules (parse triggers, index words): {first:.1f} ms")
    print(f"all rules of one sheet: {rules:.2f} ms (wanted: 5 ms); reading the sheet: {reading:.2f} ms")
    print(f"  ratio {rules / reading:.1f}; numpy loaded: {'numpy' in sys.modules}")


if __name__ == "__main__":
    main()
