"""Strength across the layers: ratio to the strength along them, layer height, surroundings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from recommender.regression.coupons import Coupons
from recommender.regression.fits.entries import (
    Entries,
    Entry,
    Tables,
    alone,
    bare_value,
    entry,
    line_facts,
    log_spread,
    picked,
    tension_bars,
)
from recommender.regression.small_samples import (
    Kin,
    Spread,
    Vector,
    kin,
    straight_line,
)


def bond_ratio(tables: Tables) -> Entries:
    """Strength across over along the layers, per material and filler class, drawn towards its class.

    One ratio per spool and design of bar; the interval is where the ratio of one further spool is expected.
    """
    bars = tension_bars(tables.coupons)
    spools = _spools_by_kind(bars)
    found = kin({kind: np.array([np.log(ratio) for ratio, _ in pairs]) for kind, pairs in spools.items()})
    entries = {f"bond_ratio/{kind[1]}/{kind[0]}": _seen(kind, spools[kind], found, bars) for kind in spools}
    for filler in found.class_mean:
        pairs = [pair for kind, of_kind in spools.items() if kind[0] == filler for pair in of_kind]
        entries[f"bond_ratio/unseen/{filler}"] = _unseen(filler, pairs, found, bars)
    within, between = "ratios of two spools of one kind", "ratios of two materials of one class"
    entries["bond_ratio/scatter_between_spools"] = bare_value(found.within, bars, "log", within)
    entries["bond_ratio/scatter_between_materials"] = bare_value(found.between, bars, "log", between)
    return entries


Kind = tuple[str, str]  # filler class, material
Pair = tuple[float, list[str]]  # ratio across/along of a spool, keys of the rows behind it


def _spools_by_kind(bars: Coupons) -> dict[Kind, list[Pair]]:
    spools: dict[Kind, list[Pair]] = {}
    for (_, _, material, filler), pair in _ratios_by_spool(bars).items():
        spools.setdefault((filler, material), []).append(pair)
    return spools


def _behind(bars: Coupons, pairs: Iterable[Pair]) -> Coupons:
    return bars.where(np.isin(bars["row"], [key for _, keys in pairs for key in keys]))


def _seen(kind: Kind, pairs: list[Pair], found: Kin, bars: Coupons) -> Entry:
    mean, variance = found.mean[kind], found.variance[kind]
    spread = log_spread(mean, variance + found.within**2, len(pairs))
    of_mean = log_spread(mean, variance, len(pairs))
    return replace(
        entry(
            spread,
            _behind(bars, pairs),
            "1",
            "one further spool",
            "Short bars pulled in printed clamps bend a little, so the ratio reads low rather than high.",
            mean_interval=[of_mean.low, of_mean.high],
            raw_median=float(np.median([ratio for ratio, _ in pairs])),
        ),
        basis="fitted",  # one spool, too, is fitted: its class lends the spread
        high=min(spread.high, 1.0),
    )


def _unseen(filler: str, pairs: list[Pair], found: Kin, bars: Coupons) -> Entry:
    spread = log_spread(found.class_mean[filler], found.class_variance[filler] + found.within**2, len(pairs))
    note = "Mean over the materials of the class."
    made = entry(spread, _behind(bars, pairs), "1", "one spool of a material without rows", note)
    return replace(made, high=min(spread.high, 1.0))


SpoolKey = tuple[str, str, str, str]


def _ratios_by_spool(bars: Coupons) -> dict[SpoolKey, Pair]:
    """Ratio across/along and the rows behind it for every spool that has both."""
    sides: dict[SpoolKey, dict[str, list[tuple[float, float, str]]]] = {}
    for row in bars.rows():
        key = (row["study"], row["spool"], row["material"], row["filler"])
        count = row["n"] if np.isfinite(row["n"]) else 1.0
        sides.setdefault(key, {}).setdefault(row["load_direction"], []).append(
            (row["strength_mpa"], count, row["row"])
        )
    found = {}
    for key, side in sides.items():
        if {"along", "across"} <= set(side):
            ratio = _weighted(side["across"]) / _weighted(side["along"])
            found[key] = (ratio, [name for part in side.values() for _, _, name in part])
    return found


def _weighted(rows: Iterable[tuple[float, float, str]]) -> float:
    strength, count = np.array([(s, n) for s, n, _ in rows]).T
    return float(np.average(strength, weights=count))


def bond_against_layer_height(tables: Tables) -> Entries:
    """Bending strength across the layers falls in a straight line with layer height over nozzle diameter.

    strength = a - b h/d (MPa). Fitted on one machine and PLA; `relative` divides by the value at h/d = 0.5,
    so that it may be laid over the strength of another material.
    """
    rows = tables.coupons.where(tables.coupons["study"] == "kuznetsov2018")
    ratio = rows["layer_height_mm"] / rows["nozzle_mm"]
    line = straight_line(ratio, rows["strength_mpa"])
    slope = line.slope_interval()
    middle = line.at(0.5)
    relative = Spread(
        slope.value / middle.value, slope.low / middle.value, slope.high / middle.value, slope.count
    )
    misses = _misses_by_group(ratio, rows["strength_mpa"], rows["nozzle_mm"])
    note = "Holds for h/d from 0.15 to 1.0, one machine; other materials borrow the relative slope."
    return {
        "bond_line/intercept": entry(line.at(0.0), rows, "MPa", "mean", note, **line_facts(line)),
        "bond_line/slope": entry(slope, rows, "MPa", "mean", note),
        "bond_line/at_half": entry(middle, rows, "MPa", "mean", note),
        "bond_line/relative_slope": entry(
            relative, rows, "1", "mean", "factor = 1 + slope (h/d - 0.5); " + note
        ),
        "bond_line/unseen_nozzle_error": bare_value(
            misses, rows, "MPa", "root mean square miss when a whole nozzle size is left out"
        ),
    }


def _misses_by_group(x: Vector, y: Vector, group: Vector) -> float:
    misses: list[float] = []
    for name in np.unique(group):
        line = straight_line(x[group != name], y[group != name])
        misses.extend(y[group == name] - (line.intercept + line.slope * x[group == name]))
    return float(np.sqrt(np.mean(np.square(misses))))


def bond_against_surroundings(tables: Tables) -> Entries:
    """Largest gain of strength across the layers from warm surroundings: one row for ABS."""
    rows = picked(
        tables.behaviour["interlayer"],
        quantity="gain_of_strength_across_layers_by_heating_the_surroundings",
    )
    value = 1 + float(rows["value"][0]) / 100
    note = "Largest gain seen between 24.8 and 71.2 degC; an upper limit, the usual gain is smaller."
    return {"bond_warm_chamber/ABS/none": entry(alone(value), rows, "1", "", note)}
