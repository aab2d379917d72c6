"""Print the validation table of the mechanics as Markdown.

``python tests/validation/table.py`` prints a line per quantity, ``--short`` a line per formula with
the quantity that differs most. Differences are those of rounding the published value to five digits.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from math import floor, log10
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))

from vector_formulas import FORMULAS  # noqa: E402

VECTORS = Path(__file__).with_name("mechanics_vectors.json")


class Comparison(NamedTuple):
    """One printed quantity of one vector beside ours."""

    vector: str
    quantity: str
    source: str
    published: Any
    ours: Any

    @property
    def tolerance(self) -> float:
        """Half of the last of the five significant digits that are printed."""
        return 0.5 * 10.0 ** (floor(log10(abs(self.published))) - 4) if self.published else 1e-12

    @property
    def difference(self) -> float:
        """Relative difference, absolute where the published value is zero."""
        return (self.ours - self.published) / self.published if self.published else self.ours


def read_vectors() -> list[dict[str, Any]]:
    vectors: list[dict[str, Any]] = json.loads(VECTORS.read_text(encoding="utf-8"))
    return vectors


def comparisons() -> Iterator[Comparison]:
    """Every quantity of every vector, computed through the public functions."""
    for vector in read_vectors():
        ours = FORMULAS[vector["id"]](vector["inputs"])
        for quantity, published in vector["expected"].items():
            yield Comparison(vector["id"], quantity, vector["source"], published, ours[quantity])


def row(item: Comparison) -> str:
    if isinstance(item.published, str):
        numbers = f"{item.published} | {item.ours} | same"
    else:
        numbers = f"{item.published:.5g} | {item.ours:.5g} | {100 * item.difference:+.4f} %"
    return f"| {item.vector}: {item.quantity} | {item.source} | {numbers} |"


def worst_of_each() -> list[Comparison]:
    """For each vector the number that differs most from its published value."""
    worst: dict[str, Comparison] = {}
    for item in comparisons():
        if isinstance(item.published, str):
            continue
        before = worst.get(item.vector)
        if before is None or abs(item.difference) > abs(before.difference):
            worst[item.vector] = item
    return list(worst.values())


def markdown(short: bool = False) -> str:
    """The table: formula and quantity, source, published value, ours, difference."""
    head = ["| formula: quantity | source | published | ours | difference |", "|---|---|---|---|---|"]
    return "\n".join(head + [row(item) for item in (worst_of_each() if short else comparisons())])


if __name__ == "__main__":
    print(markdown(short="--short" in sys.argv[1:]))
