"""The readable record ``behaviour.json`` of what the engine derates with, and the command that refits it.

``python -m recommender.regression.behaviour --refit`` writes the record from ``datasets/``; without the
option the record is printed. Reading it needs neither the tables nor NumPy.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from recommender.errors import DatasetError

RECORD = Path(__file__).with_name("behaviour.json")
SIGNIFICANT = 4  # figures kept in the record


@dataclass(frozen=True)
class Factor:
    """One figure of the record with its 90 % interval (None where nothing tells the spread) and its trust."""

    key: str
    value: float
    low: float | None
    high: float | None
    unit: str
    interval: str
    rows: int
    sources: tuple[str, ...]
    grade: str
    basis: str
    note: str
    more: Mapping[str, Any] = field(default_factory=dict)


def load_record(path: Path = RECORD) -> dict[str, Factor]:
    """All factors by key, as shipped with the package."""
    if not path.is_file():
        raise DatasetError(f"{path}: not found. Refit it: python -m recommender.regression.behaviour --refit")
    entries = json.loads(path.read_text(encoding="utf-8"))["entries"]
    return {
        key: Factor(key=key, **{**entry, "sources": tuple(entry["sources"])})
        for key, entry in entries.items()
    }


def refitted(datasets: Path | None = None) -> dict[str, Any]:
    """The record worked out anew from the tables, numbers rounded to `SIGNIFICANT` figures."""
    from recommender.regression.fits import WITHOUT_ROWS, fitted_behaviour, load_tables
    from recommender.regression.tables import datasets_folder, fingerprint

    folder = datasets_folder() if datasets is None else datasets
    entries = fitted_behaviour(load_tables(folder))
    return {
        "about": "What the engine derates with. Intervals are 90 %, of what each entry's interval names.",
        "refit": "python -m recommender.regression.behaviour --refit",
        "tables_sha256": fingerprint(*table_files(folder)),
        "entries": {key: rounded(asdict(entry)) for key, entry in sorted(entries.items())},
        "without_rows": WITHOUT_ROWS,
    }


def table_files(folder: Path) -> list[Path]:
    """The tables that the record depends on, in a fixed order."""
    return sorted([*(folder / "coupons").glob("*.csv"), *(folder / "behaviour").glob("*.csv")])


def rounded(item: Any) -> Any:
    """The same nest of dictionaries and lists with floats rounded to `SIGNIFICANT` figures."""
    if isinstance(item, dict):
        return {key: rounded(value) for key, value in item.items()}
    if isinstance(item, list | tuple):
        return [rounded(value) for value in item]
    return float(f"{item:.{SIGNIFICANT}g}") if isinstance(item, float) else item


def main(arguments: list[str] | None = None) -> int:
    """Print the record, or refit it."""
    parser = argparse.ArgumentParser(prog="python -m recommender.regression.behaviour", description=__doc__)
    parser.add_argument("--refit", action="store_true", help="work it out from datasets/ and write it")
    if parser.parse_args(arguments).refit:
        RECORD.write_text(json.dumps(refitted(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    for factor in load_record().values():
        limits = "" if factor.low is None else f" ({factor.low:g} to {factor.high:g})"
        print(f"{factor.key}: {factor.value:g}{limits} {factor.unit}, {factor.rows} rows, {factor.basis}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
