"""One figure of the record, the tables that the fits read, and small steps that they share.

Each fit returns entries by key. An entry says what its interval means, from how many rows and which sources
it comes, and how far it is to be trusted:

fitted      two or more rows, the interval follows from their spread
single_row  one row; its own limits if the source gives any, else no interval
estimate    no row carries it; the reasoning stands in the note
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from recommender.regression.behaviour_rows import load_behaviour
from recommender.regression.coupons import Coupons, load_coupons, load_pulls
from recommender.regression.small_samples import (
    Z90,
    Line,
    Spread,
)
from recommender.regression.tables import Table


@dataclass(frozen=True)
class Entry:
    """One figure of the record; `low` and `high` are None where nothing tells the spread."""

    value: float
    low: float | None
    high: float | None
    unit: str
    interval: str
    rows: int
    sources: tuple[str, ...]
    grade: str
    basis: str
    note: str = ""
    more: Mapping[str, Any] = field(default_factory=dict)


Entries = dict[str, Entry]


@dataclass(frozen=True)
class Tables:
    """Everything that the fits read."""

    coupons: Coupons
    pulls: Table
    behaviour: Mapping[str, Table]


def load_tables(datasets: Path) -> Tables:
    """Bars, single bars and all topics of behaviour from the folder `datasets`."""
    coupons = load_coupons(datasets / "coupons")
    topics = ("ageing", "creep", "dimensions", "failures", "fatigue", "interlayer", "temperature")
    return Tables(
        coupons,
        load_pulls(coupons, datasets / "coupons"),
        {topic: load_behaviour(topic, datasets / "behaviour") for topic in topics},
    )


def entry(spread: Spread, rows: Table, unit: str, interval: str, note: str = "", **more: Any) -> Entry:
    """An entry from a spread over `rows`; one number without limits becomes a single row."""
    known = bool(np.isfinite(spread.low))
    return Entry(
        spread.value,
        spread.low if known else None,
        spread.high if known else None,
        unit,
        interval if known else "none: one row",
        spread.count,
        sources_of(rows),
        weakest_grade(rows),
        "fitted" if known and spread.count > 1 else "single_row",
        note,
        more,
    )


def sources_of(rows: Table) -> tuple[str, ...]:
    names = rows["study"] if "study" in rows.columns else rows["source"]
    return tuple(sorted(set(names.tolist())))


def weakest_grade(rows: Table) -> str:
    return str(max(rows["grade"].tolist()))  # A before B before C: the weakest row speaks


def picked(table: Table, **wanted: Any) -> Table:
    """Rows whose columns equal the values given."""
    keep = np.ones(len(table), dtype=bool)
    for name, value in wanted.items():
        keep &= table[name] == value
    return table.where(keep)


def bare_value(value: float, rows: Table, unit: str, note: str) -> Entry:
    return Entry(
        value, None, None, unit, "none", len(rows), sources_of(rows), weakest_grade(rows), "fitted", note
    )


def alone(value: float, low: float = float("nan"), high: float = float("nan")) -> Spread:
    return Spread(value, low, high, 1)


def line_facts(line: Line) -> dict[str, Any]:
    return {
        "coefficients": [line.intercept, line.slope],
        "covariance": [list(row) for row in line.covariance],
        "residual_sd": line.residual_sd,
    }


def log_spread(mean: float, variance: float, count: int) -> Spread:
    half = Z90 * float(np.sqrt(variance))
    return Spread(float(np.exp(mean)), float(np.exp(mean - half)), float(np.exp(mean + half)), count)


def tension_bars(coupons: Coupons) -> Coupons:
    keep = (coupons["test"] == "tension") & np.isin(coupons["treatment"], ["train", "weigh_down"])
    keep &= np.isfinite(coupons["strength_mpa"]) & (coupons["load_direction"] != "")
    return coupons.where(keep)
