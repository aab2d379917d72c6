"""How long the knowledge base takes, against reading the same bytes and against loading the YAML anew.

Run: ``PYTHONPATH=. python tests/benchmarks/knowledge_loading.py``. Processor time, median of several runs of one
process; ratios travel between machines, milliseconds do not.
"""

from __future__ import annotations

import os
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

RUNS = 9


def median_ms(work: Callable[[], object], runs: int = RUNS) -> float:
    times = []
    for _ in range(runs):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return 1000 * statistics.median(times)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = folder
        report(Path(folder))


def report(cache: Path) -> None:
    from kb.design_values import engine_values, engine_values_of
    from kb.loading import load_knowledge_base
    from kb.validation import problems

    load_knowledge_base()
    (kept,) = cache.rglob("knowledge-*.lines")
    knowledge = load_knowledge_base()
    materials = list(knowledge.materials.values())

    def all_values() -> None:
        fresh = load_knowledge_base()
        for material in fresh.materials.values():
            engine_values(material, fresh)

    floor = median_ms(kept.read_bytes)
    warm = median_ms(load_knowledge_base)
    values = median_ms(all_values)
    chosen = median_ms(lambda: [engine_values_of(material) for material in materials], 3)
    cold = median_ms(problems, 3)
    print(f"read the {kept.stat().st_size / 1e6:.2f} MB of the cache (floor)   {floor:7.2f} ms   1.0")
    for name, value in (
        ("warm load_knowledge_base()", warm),
        (f"warm load and engine values of {len(materials)} materials", values),
        ("choice among facts anew, same materials", chosen),
        ("cold: read, check and compile all YAML", cold),
    ):
        print(f"{name:<50}{value:9.2f} ms {value / floor:7.1f} x floor")


if __name__ == "__main__":
    main()
