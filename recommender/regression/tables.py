"""Tables of measurements: CSV files read against the description of their columns in ``about.yaml``."""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import yaml
from numpy.typing import NDArray

from recommender.errors import DatasetError

Column = NDArray[Any]


@dataclass(frozen=True)
class Table:
    """Columns of equal length: numbers as float with NaN where the source is silent, words as str."""

    columns: Mapping[str, Column]

    def __len__(self) -> int:
        return len(next(iter(self.columns.values())))

    def __getitem__(self, name: str) -> Column:
        return self.columns[name]

    def where(self, keep: Column) -> Table:
        """The rows for which `keep` (a mask or row numbers) holds."""
        return Table({name: values[keep] for name, values in self.columns.items()})

    def rows(self) -> Iterator[dict[str, Any]]:
        """One dictionary per row, for printing rather than for arithmetic."""
        for i in range(len(self)):
            yield {name: values[i] for name, values in self.columns.items()}


def datasets_folder() -> Path:
    """Folder ``datasets/`` of the source tree.

    Raises
    ------
    DatasetError
        The package was installed without it; the shipped records need no tables, refitting does.
    """
    folder = Path(__file__).resolve().parents[2] / "datasets"
    if not folder.is_dir():
        raise DatasetError(
            f"{folder}: the tables of measurements are not part of an installed package. "
            "Run this from a copy of the source tree, or name the folder with the tables."
        )
    return folder


def described(folder: Path) -> dict[str, Any]:
    """The description ``about.yaml`` of the tables in `folder`."""
    path = folder / "about.yaml"
    if not path.is_file():
        raise DatasetError(f"{path}: not found. A folder of tables needs its description there.")
    with path.open(encoding="utf-8") as file:
        about: dict[str, Any] = yaml.safe_load(file)
    return about


def read_table(path: Path, columns: Mapping[str, Mapping[str, Any]]) -> Table:
    """Read a CSV file whose header is exactly `columns`, checking every cell.

    Raises
    ------
    DatasetError
        A missing file, a wrong header, or the first cell that its column does not allow.
    """
    if not path.is_file():
        raise DatasetError(f"{path}: not found.")
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.reader(file)
        header = next(reader, [])
        if header != list(columns):
            strange = sorted(set(header) ^ set(columns)) or "order"
            raise DatasetError(f"{path.name}: the header differs from about.yaml in {strange}.")
        lines = list(reader)
    for number, line in enumerate(lines, start=2):
        if len(line) != len(header):
            raise DatasetError(f"{path.name} line {number}: {len(line)} cells, {len(header)} wanted.")
    cells = list(zip(*lines, strict=True)) or [()] * len(header)
    named = zip(header, cells, strict=True)
    return Table({name: _column(path.name, name, values, columns[name]) for name, values in named})


def _column(file: str, name: str, cells: tuple[str, ...], rule: Mapping[str, Any]) -> Column:
    read = _number if rule["kind"] == "number" else _word
    values = []
    for line, cell in enumerate(cells, start=2):
        try:
            values.append(read(cell, rule))
        except ValueError as problem:
            raise DatasetError(f"{file} line {line}, {name}: {problem}") from problem
    return np.array(values, dtype=float) if rule["kind"] == "number" else np.array(values, dtype=np.str_)


def _number(cell: str, rule: Mapping[str, Any]) -> float:
    if not cell:
        if rule.get("required"):
            raise ValueError("must not be empty.")
        return float("nan")
    value = float(cell)
    low, high = rule.get("minimum", -np.inf), rule.get("maximum", np.inf)
    if not low <= value <= high:
        raise ValueError(f"{cell} {rule.get('unit', '')} is outside {low:g} to {high:g}.")
    return value


def _word(cell: str, rule: Mapping[str, Any]) -> str:
    if rule.get("required") and not cell:
        raise ValueError("must not be empty.")
    if cell and "allowed" in rule and cell not in rule["allowed"]:
        raise ValueError(f"{cell!r} is not one of {', '.join(rule['allowed'])}.")
    return cell


def fingerprint(*paths: Path) -> str:
    """SHA-256 of the files in the order given: tells from which rows a record was fitted."""
    digest = hashlib.sha256()
    for path in paths:
        digest.update(path.read_bytes())
    return digest.hexdigest()
