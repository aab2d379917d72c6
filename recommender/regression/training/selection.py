"""Which terms the model keeps: chosen on the training studies alone, so that a study held out has no say.

For every variant the training studies are predicted one by one from the others, in closed form. A study's score is
the mean of its rows'; the simplest variant whose mean over the studies lies within one standard error of the best
one's, paired by study, is kept (Breiman and others, Classification and Regression Trees, 1984, section 3.4.3).

The hierarchy of direction, test, filler, material, study and spool stands in every variant: a group that tells nothing
gets a spread of next to nothing, and without the groups intervals of materials not seen would be too narrow. So do
the terms of the source (supplier's sheet, silent on settings, annealed, quoted best): they keep its habits out of
what carries over to a new print.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from recommender.regression.training.design import Rows
from recommender.regression.training.fitting import left_out_scores, spreads_of

Array = NDArray[np.float64]
Spreads = Mapping[str, float]
"""Standard deviations by group."""

_LAYERS = frozenset({"layers", "layers_across"})
_SECTION = _LAYERS | {"core"}

VARIANTS: Mapping[str, frozenset[str]] = {
    "materials alone": _SECTION | {"bending_across", "level", "across"},
    "and across": _SECTION | {"bending_across", "level"},
    "and a level": _SECTION | {"bending_across"},
    "and bending across": _SECTION,
}
"""Terms left out, by name of the variant, the simplest first: those that the engine can apply."""

WITH_THE_SECTION: Mapping[str, frozenset[str]] = {"and the core": _LAYERS, "and layer height": frozenset()}
"""Variants that the engine would have to learn to apply; compared, never chosen. One that wins wants building."""


class Variant(NamedTuple):
    """A variant's name and the terms it leaves out."""

    name: str
    drop: frozenset[str]


def choose(
    strangers: Rows, variants: Mapping[str, frozenset[str]] = VARIANTS, start: Spreads | None = None
) -> tuple[Variant, Spreads]:
    """The variant kept, and spreads from which its fit may begin.

    `strangers` are the training rows, each against mechanics that know nothing of its own study (foldless.py).
    `variants` stand with the simplest first.
    """
    spreads = spreads_of(strangers, list(variants.values())[-1], start)
    scores = scores_by_study(strangers, variants, spreads)
    best = min(scores, key=lambda name: float(scores[name].mean()))
    kept = next(name for name, score in scores.items() if _no_worse(score, scores[best]))
    return Variant(kept, variants[kept]), spreads


def scores_by_study(
    strangers: Rows, variants: Mapping[str, frozenset[str]], spreads: Spreads
) -> dict[str, Array]:
    """Mean score of every study, left out, under every variant."""
    found = {}
    for name, drop in variants.items():
        score = left_out_scores(strangers, drop, spreads)
        found[name] = np.array([score[strangers.fold == fold].mean() for fold in np.unique(strangers.fold)])
    return found


def _no_worse(score: Array, best: Array) -> bool:
    """Whether a variant's scores by study lie within one standard error of the best ones, on average."""
    behind = score - best
    return bool(behind.mean() <= behind.std(ddof=1) / np.sqrt(len(behind)))
