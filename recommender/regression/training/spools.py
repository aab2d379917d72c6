"""What a few bars of the same spool teach: the case of a user who logs three results.

The spool's study is held out. Three single bars of it are given, the rest is predicted:

    log s = calculated + correction + printer and spool (along, across) + print + bar

with a joint normal prior from the model; the scatter from bar to bar is that of the studies not held out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from recommender.regression.coupons import load_pulls
from recommender.regression.prediction import Kind, joint_over_directions
from recommender.regression.record import Record
from recommender.regression.training.design import Rows
from recommender.regression.training.evidence import Evidence
from recommender.regression.training.recording import fitted_without

Array = NDArray[np.float64]

GIVEN = 3
REPEATS = 200
SEED = 20180313


@dataclass(frozen=True, slots=True)
class SpoolBars:
    """Single bars of one spool: logarithm of strength (MPa), what was expected of it, covariance, direction."""

    log_strength: Array
    expected: Array
    covariance: Array
    across: NDArray[np.bool_]

    def after(self, given: NDArray[np.int64]) -> tuple[Array, NDArray[np.int64]]:
        """Expected logarithm of every bar not given, once those given are known; and which bars these are."""
        rest = np.setdiff1d(np.arange(len(self.expected)), given)
        cross = self.covariance[np.ix_(rest, given)]
        known = self.covariance[np.ix_(given, given)]
        surprise = self.log_strength[given] - self.expected[given]
        return self.expected[rest] + cross @ np.linalg.solve(known, surprise), rest


def scatter_of_bars(evidence: Evidence, without: str) -> tuple[float, float]:
    """Coefficient of variation from bar to bar, along and across: medians over the rows of other studies."""
    rows = evidence.all
    picked = evidence.coupons.where(rows.bars.index)
    cv = picked["strength_sd_mpa"] / picked["strength_mpa"]
    told = np.isfinite(cv) & rows.fitted & (rows.fold != without)
    across = rows.bars.across
    return float(np.median(cv[told & ~across])), float(np.median(cv[told & across]))


def spools_of(evidence: Evidence, fold: str) -> list[SpoolBars]:
    """All spools of `fold` with more single bars than are given."""
    record = fitted_without(evidence, frozenset({fold}))
    rows = evidence.without(frozenset({fold}))
    pulls = load_pulls(evidence.coupons)
    place = {int(index): i for i, index in enumerate(rows.bars.index)}
    row_of = np.array([place.get(int(i), -1) for i in pulls["index"]])
    log_strength = np.log(pulls["strength_mpa"])
    usable = (row_of >= 0) & (rows.fold[row_of] == fold)
    scatter = scatter_of_bars(evidence, fold)
    found = []
    for spool in np.unique(rows.spool[row_of[usable]]):
        here = np.flatnonzero(usable & (rows.spool[row_of] == spool))
        if len(here) > GIVEN:
            found.append(_spool(record, rows, row_of[here], log_strength[here], scatter))
    return found


def _spool(
    record: Record, rows: Rows, row: NDArray[np.int64], log_strength: Array, scatter: tuple[float, float]
) -> SpoolBars:
    bars = rows.bars
    kind = Kind(str(bars.material[row[0]]), str(rows.filler[row[0]]))
    mean, covariance = joint_over_directions(record, kind)
    across = bars.across[row].astype(int)
    s = record.spreads
    per_print = np.where(across, s["noise_across"], s["noise_along"])
    same = row[:, None] == row[None, :]
    full = covariance[np.ix_(across, across)] + np.where(same, np.outer(per_print, per_print), 0.0)
    full += np.diag(np.array(scatter)[across] ** 2)
    return SpoolBars(log_strength, bars.log_mechanics[row] + mean[across], full, across.astype(bool))


def learning_from_three(evidence: Evidence) -> dict[str, Any]:
    """Median error on the remaining bars, before and after three bars are given; 200 draws with a seed.

    Over every spool of every study that tells more than three single bars, each study held out in its turn.
    """
    by_fold = {fold: spools_of(evidence, fold) for fold in folds_with_bars(evidence)}
    told = [fold for fold, spools in by_fold.items() if spools]
    return {"studies": len(told), **over_draws([s for fold in told for s in by_fold[fold]], REPEATS)}


def folds_with_bars(evidence: Evidence) -> list[str]:
    """Folds of the rows that may be fitted and whose single bars the tables hold."""
    pulls, rows = load_pulls(evidence.coupons), evidence.all
    held = np.isin(rows.bars.index, pulls["index"]) & rows.fitted
    return [str(fold) for fold in np.unique(rows.fold[held])]


def over_draws(spools: list[SpoolBars], repeats: int) -> dict[str, Any]:
    """Median errors over `repeats` draws of three bars of every spool, always the same draws."""
    generator = np.random.default_rng(SEED)
    medians: dict[str, list[float]] = {name: [] for name in ("all", "along", "across", "same_direction")}
    before = np.concatenate([np.abs(np.expm1(s.expected - s.log_strength)) for s in spools])
    for _ in range(repeats):
        errors, across, alike = [], [], []
        for spool in spools:
            given = generator.choice(len(spool.expected), GIVEN, replace=False)
            predicted, rest = spool.after(given)
            errors.append(np.abs(np.expm1(predicted - spool.log_strength[rest])))
            across.append(spool.across[rest])
            alike.append(np.isin(spool.across[rest], spool.across[given]))
        error, way, seen = np.concatenate(errors), np.concatenate(across), np.concatenate(alike)
        for name, keep in (("all", way | ~way), ("along", ~way), ("across", way), ("same_direction", seen)):
            medians[name].append(float(np.median(error[keep])))
    return {
        "spools": len(spools), "bars": sum(len(s.expected) for s in spools), "given": GIVEN,
        "repeats": repeats, "seed": SEED, "median_error_before": round(float(np.median(before)), 4),
        **{f"median_error_{name}": round(float(np.mean(v)), 4) for name, v in medians.items()},
        **{f"spread_{name}": [round(float(q), 4) for q in np.quantile(v, [0.05, 0.95])]
           for name, v in medians.items()},
    }  # fmt: skip
