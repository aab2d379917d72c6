"""Scatter of bars that should be alike, and of spools."""

from __future__ import annotations

import numpy as np

from recommender.regression.fits.entries import (
    Entries,
    Tables,
    entry,
    tension_bars,
)
from recommender.regression.small_samples import (
    pooled_scatter,
)


def repeat_scatter(tables: Tables) -> Entries:
    """Relative scatter of bars of one print setting, along and across the layers, from single bars."""
    entries: Entries = {}
    for direction in ("along", "across"):
        rows = tables.coupons.where(tables.coupons["load_direction"] == direction)
        keys = rows["row"].tolist()
        mine = tables.pulls.where(np.isin(tables.pulls["row"], keys))
        groups = [np.log(mine["load_n"][mine["row"] == key]) for key in dict.fromkeys(mine["row"].tolist())]
        used = rows.where(np.isin(rows["row"], mine["row"]))
        entries[f"repeat_scatter/{direction}"] = entry(
            pooled_scatter(groups), used, "log", "the scatter itself", "Standard deviation of log strength."
        )
    return entries


def spool_scatter(tables: Tables) -> Entries:
    """Scatter of log strength along the layers between spools of one material, one laboratory."""
    bars = tension_bars(tables.coupons)
    bars = bars.where((bars["fold"] == "carter2025") & (bars["load_direction"] == "along"))
    spools: dict[tuple[str, str], dict[str, list[float]]] = {}
    for row in bars.rows():
        kind = (row["material"], row["filler"])
        spools.setdefault(kind, {}).setdefault(row["spool"], []).append(float(np.log(row["strength_mpa"])))
    groups = [np.array([np.mean(v) for v in by_spool.values()]) for by_spool in spools.values()]
    spread = pooled_scatter(groups)
    note = "Standard deviation of log strength between spools of one polymer and filler."
    return {"spool_scatter/along": entry(spread, bars, "log", "the scatter itself", note)}
