"""The rows as a fold sees them: against mechanics and a knowledge base that do without the folds held out."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from kb.design_values import EngineValues
from kb.loading import KnowledgeBase
from recommender.mechanics import anisotropy
from recommender.regression.coupons import Coupons, usable
from recommender.regression.training.bars import WIDTH_OVER_NOZZLE, Bars, bars_of
from recommender.regression.training.design import Rows, rows_of
from recommender.regression.training.foldless import SOURCES_OF_FOLD, values_without
from recommender.section.strengths import BOND_RANGE, bond_factor

Array = NDArray[np.float64]
BOND_FOLD = "kuznetsov2018"  # the law of layer height over nozzle diameter is fitted to this study


def bond_unmeasured(layer_over_nozzle: ArrayLike) -> Array:
    """What would stand for bond_factor had nobody measured it: contact of the beads, with lines of usual width."""
    ratio = np.minimum(layer_over_nozzle, BOND_RANGE[1]) / WIDTH_OVER_NOZZLE
    here = anisotropy.bead_contact(layer_height=ratio, line_width=1.0)
    return np.asarray(here / anisotropy.bead_contact(layer_height=0.5 / WIDTH_OVER_NOZZLE, line_width=1.0))


class Evidence:
    """All usable rows, and the shift of their mechanics when folds are left out of the knowledge base."""

    def __init__(self, coupons: Coupons, knowledge: KnowledgeBase) -> None:
        self.coupons = usable(coupons)
        self.knowledge = knowledge
        self._values: dict[frozenset[str], dict[str, EngineValues]] = {}

    @cached_property
    def bars(self) -> Bars:
        """The rows against the knowledge base as it is."""
        return bars_of(self.coupons, self.knowledge, self.values(frozenset()))

    @cached_property
    def all(self) -> Rows:
        """Every row that can be predicted, against the knowledge base as it is."""
        return rows_of(self.coupons, self.bars, self.values(frozenset()))

    def fitted_but(self, folds: frozenset[str]) -> NDArray[np.bool_]:
        """Mask of the rows that may be fitted when `folds` are held out."""
        return np.asarray(self.all.fitted & ~np.isin(self.all.fold, list(folds)))

    def values(self, without: frozenset[str]) -> dict[str, EngineValues]:
        """Engine values without the facts of these folds."""
        known = without & frozenset(SOURCES_OF_FOLD)
        if known not in self._values:
            self._values[known] = values_without(known, self.knowledge)
        return self._values[known]

    def without(self, folds: frozenset[str]) -> Rows:
        """All rows against mechanics that do without `folds`."""
        return self._shifted(np.array([self._shift(i, folds) for i in range(len(self.all))]))

    def as_strangers(self, folds: frozenset[str] = frozenset()) -> Rows:
        """All rows against mechanics that do without `folds` and without the row's own fold."""
        own = self.all.fold.tolist()
        return self._shifted(np.array([self._shift(i, folds | {own[i]}) for i in range(len(self.all))]))

    def _shift(self, row: int, folds: frozenset[str]) -> float:
        """Change of the logarithm of the mechanics' figure: strengths scale, and the bond law may go."""
        material, across = str(self.bars.material[row]), bool(self.bars.across[row])
        now, then = self.values(frozenset())[material], self.values(folds)[material]
        shift = np.log(then.strength_mpa.typical / now.strength_mpa.typical)
        if across:
            shift += np.log(then.interlayer_ratio.typical / now.interlayer_ratio.typical)
            if BOND_FOLD in folds:
                ratio = self.bars.layer_over_nozzle[row]
                shift += np.log(bond_unmeasured(ratio) / bond_factor(ratio))
        return float(shift)

    def _shifted(self, shift: Array) -> Rows:
        bars = replace(self.bars, log_mechanics=self.bars.log_mechanics + shift)
        return replace(self.all, bars=bars, target=self.all.target - shift)
