"""How far the regression and its rivals miss bars of studies they had not seen."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from recommender.errors import DatasetError
from recommender.regression.tables import Table

Array = NDArray[np.float64]

HELD_OUT_FILE = Path(__file__).with_name("held_out.json")
NINE_IN_TEN = 1.645


@dataclass(frozen=True, slots=True)
class Score:
    """Errors over a set of held-out bars; errors are shares of the measured strength (0.1 = 10 %).

    `coverage` is the share of bars within their 90 % interval, `width` that interval's upper bound over its
    middle (median over the bars).
    """

    rows: int
    studies: int
    median_error: float
    ninetieth_error: float
    coverage: float
    width: float
    mechanics_median: float
    mechanics_ninetieth: float
    mean_median: float


def load_held_out(path: Path = HELD_OUT_FILE) -> Table:
    """Held-out predictions as columns: row, study, material, test, across, fitted, known, measured_mpa,
    predicted_mpa, log_sd, mechanics_mpa, material_mean_mpa.

    Raises
    ------
    DatasetError
        The file is missing or cannot be read.
    """
    try:
        columns: Mapping[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise DatasetError(
            f"{path.name}: the held-out predictions cannot be read ({error}). Refit the regression."
        ) from error
    return Table({name: np.array(values) for name, values in columns.items()})


def errors(table: Table, column: str = "predicted_mpa") -> Array:
    """|predicted / measured - 1| of every bar."""
    return np.asarray(np.abs(table[column] / table["measured_mpa"] - 1.0))


def inside(table: Table) -> NDArray[np.bool_]:
    """Whether every bar lies within its 90 % interval."""
    off = np.abs(np.log(table["measured_mpa"] / table["predicted_mpa"]))
    return np.asarray(off <= NINE_IN_TEN * table["log_sd"])


def score(table: Table) -> Score:
    """Score over all rows of `table`, of which there must be at least one."""
    missed, plain = errors(table), errors(table, "mechanics_mpa")
    return Score(
        rows=len(table),
        studies=len(np.unique(table["fold"])),
        median_error=float(np.median(missed)),
        ninetieth_error=float(np.quantile(missed, 0.9)),
        coverage=float(np.mean(inside(table))),
        width=float(np.exp(NINE_IN_TEN * np.median(table["log_sd"]))),
        mechanics_median=float(np.median(plain)),
        mechanics_ninetieth=float(np.quantile(plain, 0.9)),
        mean_median=float(np.median(errors(table, "material_mean_mpa"))),
    )


def groups_of(table: Table) -> dict[str, Table]:
    """The sets that are scored: overall, by how well settings are known, by kind of test, by material."""
    fitted, known, across = table["fitted"], table["section_known"], table["across"]
    test, material = table["test"], table["material"]
    chosen: dict[str, Any] = {
        "all bars that are fitted": fitted,
        "section known": fitted & known,
        "section known, along": fitted & known & ~across,
        "known, along, no filler": fitted & known & ~across & ~table["filled"],
        "section known, across": fitted & known & across,
        "kept out of every fit": ~fitted,
    }
    for kind in ("tension", "bending", "compression"):
        for word, way in (("along", ~across), ("across", across)):
            chosen[f"{kind}, {word}"] = fitted & (test == kind) & way
    chosen |= {f"material {key}": fitted & (material == key) for key in np.unique(material)}
    return {name: table.where(mask) for name, mask in chosen.items() if np.any(mask)}


def by_study(table: Table) -> dict[str, Table]:
    """The rows of every study."""
    return {str(key): table.where(table["study"] == key) for key in np.unique(table["study"])}
