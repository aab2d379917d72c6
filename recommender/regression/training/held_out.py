"""Every row predicted with its whole study held out, by the model and by its rivals."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.regression.prediction import Kind, correction
from recommender.regression.record import Record
from recommender.regression.training.design import Rows, slopes
from recommender.regression.training.evidence import Evidence
from recommender.regression.training.recording import fitted_to_all, fitted_without

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class HeldOut:
    """Predictions of every row by what had not seen its study: logarithm of strength (MPa) and its deviation.

    `log_sd` is NaN for rivals that give no interval.
    """

    name: str
    log_strength: Array
    log_sd: Array


def predict_rows(record: Record, rows: Rows) -> tuple[Array, Array]:
    """Log strength (MPa) of every row and its standard deviation, with unknown settings integrated over."""
    mean, log_sd = np.zeros(len(rows)), np.zeros(len(rows))
    bars = rows.bars
    for i in range(len(rows)):
        kind = Kind(str(bars.material[i]), str(rows.filler[i]))
        shift, spread = correction(
            record, [kind], across=bool(bars.across[i]), test=str(bars.test[i]),  # type: ignore[arg-type]
            bending_reserve=bars.bending_reserve[i],
        )  # fmt: skip
        mean[i], log_sd[i] = shift[0], spread[0]
    mean += of_the_source(record, rows)
    return bars.log_mechanics + mean, np.hypot(log_sd, bars.settings_log_sd)


OF_THE_SOURCE = ("silent", "annealed", "annealed_across", "sheet", "sheet_across")


def of_the_source(record: Record, rows: Rows) -> Array:
    """What is known of a bar and its source before it breaks: annealed, from a supplier's sheet, settings not told."""
    inputs = slopes(rows)
    return np.asarray(sum(record.coefficient(name) * inputs[name] for name in OF_THE_SOURCE))


Rival = Callable[[Rows, Rows], Array]


def by_model(evidence: Evidence, drop: frozenset[str] | None = None) -> HeldOut:
    """The hierarchical model, its terms chosen and fitted anew for every study; `drop` forces the terms left out."""
    whole = fitted_to_all(evidence, drop)

    def one(fold: str) -> tuple[Array, Array]:
        folds = frozenset({fold})
        record = fitted_without(evidence, folds, whole.spreads, drop)
        rows = evidence.without(folds)
        return predict_rows(record, rows.where(rows.fold == fold))

    return _over_folds("hierarchical linear", evidence, one)


def by_rival(name: str, evidence: Evidence, rival: Rival) -> HeldOut:
    """A rival, which gets the training rows and the rows to predict and returns log strengths."""

    def one(fold: str) -> tuple[Array, Array]:
        rows = evidence.without(frozenset({fold}))
        here = rows.fold == fold
        predicted = rival(rows.where(rows.fitted & ~here), rows.where(here))
        return predicted, np.full(len(predicted), np.nan)

    return _over_folds(name, evidence, one)


def _over_folds(name: str, evidence: Evidence, one: Callable[[str], tuple[Array, Array]]) -> HeldOut:
    fold = evidence.all.fold
    mean, log_sd = np.zeros(len(fold)), np.zeros(len(fold))
    keys = np.unique(fold)
    for done, key in enumerate(keys):
        if sys.stderr.isatty():
            print(f"\r{name}: study {done + 1} of {len(keys)}", end="", file=sys.stderr)
        mean[fold == key], log_sd[fold == key] = one(str(key))
    return HeldOut(name, mean, log_sd)
