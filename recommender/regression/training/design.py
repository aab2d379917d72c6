"""Columns of the linear model for a set of bars: which coefficients act on each, in groups that shrink together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kb.design_values import EngineValues
from recommender.regression.coupons import Coupons
from recommender.regression.training.bars import Bars

Array = NDArray[np.float64]
Words = NDArray[np.str_]


@dataclass(frozen=True, slots=True)
class Rows:
    """Bars with their measured strength, ready for any model; one element per row.

    `target` is log(measured / mechanics); `doubt` multiplies the variance of the noise (rows weighed down);
    `best` is +1 for the quoted best of a design, -1 for its worst, 0 for a plain level.
    """

    bars: Bars
    target: Array
    log_measured: Array
    family: Words
    filler: Words
    fold: Words
    study: Words
    spool: Words
    grade: Words
    wet: Array
    annealed: Array
    sheet: Array
    best: Array
    doubt: Array
    fitted: NDArray[np.bool_]
    level: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.target)

    def where(self, keep: NDArray[Any]) -> Rows:
        """The rows for which `keep` (a mask or numbers) holds."""
        parts = {name: getattr(self, name)[keep] for name in self.__slots__ if name != "bars"}
        return Rows(bars=self.bars.where(keep), **parts)


GRADES = ("matte", "silk", "tough", "glitter", "marble")
STUDY_OF_SUPPLIER = "supplier"
WORST_WORDS = ("lowest", "worst")
DOUBT = {"train": 1.0, "weigh_down": 2.0, "hold_out_only": 2.0}


def rows_of(coupons: Coupons, bars: Bars, values: dict[str, EngineValues]) -> Rows:
    """Join the tables' rows with what the mechanics say of them."""
    picked = coupons.where(bars.index)
    notes = [note.lower() for note in picked["note"].tolist()]
    measured = np.log(picked["strength_mpa"])
    all_told = np.array(["all three levels" in note for note in notes])
    extreme = (picked["case"] == "extreme") & ~all_told
    worst = np.array([any(word in note for word in WORST_WORDS) for note in notes])
    return Rows(
        bars=bars,
        target=measured - bars.log_mechanics,
        log_measured=measured,
        family=np.array([values[m].family for m in bars.material.tolist()]),
        filler=np.array([_filler(row["filler"]) for row in picked.rows()]),
        fold=picked["fold"],
        study=picked["study"],
        spool=_spools(picked, bars.material),
        grade=np.array([next((g for g in GRADES if f"{g} grade" in note), "") for note in notes]),
        wet=np.array([float("humid" in n or "wet filament" in n) for n in notes]),
        annealed=np.array([float("anneal" in after) for after in picked["after_treatment"].tolist()]),
        sheet=np.array([float(STUDY_OF_SUPPLIER in study) for study in picked["study"].tolist()]),
        best=np.where(extreme, np.where(worst, -1.0, 1.0), 0.0),
        doubt=np.array([DOUBT[t] for t in picked["treatment"].tolist()]),
        fitted=np.isin(picked["treatment"], ["train", "weigh_down"]),
        level=~extreme,
    )


def _spools(picked: Coupons, material: Words) -> Words:
    """A name for every row's spool: a study that tells no spools apart is taken to have had one per material."""
    names = list(zip(picked["study"].tolist(), material.tolist(), picked["spool"].tolist(), strict=True))
    telling = {(study, key) for study, key, spool in names if spool}
    return np.array(
        [
            f"{study}/{spool or (i if (study, key) in telling else key)}"
            for i, (study, key, spool) in enumerate(names)
        ]
    )


def _filler(name: str) -> str:
    return "" if name == "none" else name.replace("_", " ")


@dataclass(frozen=True, slots=True)
class Group:
    """Coefficients that share a standard deviation: a name, one word or number column per row, a prior mean."""

    name: str
    columns: Array
    levels: tuple[str, ...]


def slopes(rows: Rows) -> dict[str, Array]:
    """Inputs with a coefficient of their own, one column each."""
    bars = rows.bars
    across = bars.across.astype(float)
    bending, pressing = bars.test == "bending", bars.test == "compression"
    return {
        "level": np.ones(len(rows)),
        "across": across,
        "bending": bending.astype(float),
        "bending_across": bending * across,
        "bending_reserve": bars.bending_reserve,
        "compression": pressing.astype(float),
        "best": rows.best,
        "wet": rows.wet,
        "annealed": rows.annealed,
        "annealed_across": rows.annealed * across,
        "silent": bars.silent.astype(float),
        "sheet": rows.sheet,
        "sheet_across": rows.sheet * across,
        "core": bars.core_lift,
        "layers": bars.layer_over_nozzle - 0.5,
        "layers_across": (bars.layer_over_nozzle - 0.5) * across,
    }


# Prior of the slopes: mean and standard deviation. The reserve in bending has the mean 1 that plasticity gives;
# a quoted best of a design lies above its mean; annealed bars lie higher across the layers; all others are left free
# to be nothing. "silent" is what sources that name no settings lie off by, beyond the prior over their settings.
SLOPE_PRIOR = {
    "level": (0.0, 0.2), "across": (0.0, 0.3), "bending": (0.1, 0.2), "bending_across": (0.0, 0.4), "bending_reserve": (1.0, 0.3),
    "compression": (0.0, 0.3),
    "best": (0.1, 0.1), "wet": (0.0, 0.1), "annealed": (0.0, 0.15), "annealed_across": (0.1, 0.2), "silent": (0.0, 0.2),
    "sheet": (0.05, 0.15), "sheet_across": (0.2, 0.3),
    "core": (0.0, 1.0), "layers": (0.0, 0.5), "layers_across": (0.0, 0.5),
}  # fmt: skip


def indicators(words: Sequence[str] | Words, weight: Array | None = None) -> tuple[Array, tuple[str, ...]]:
    """One column per distinct word, 1 (or the row's weight) where the row has it; "" has none."""
    levels = tuple(sorted({str(w) for w in words} - {""}))
    columns = np.array([[float(w == level) for level in levels] for w in words]).reshape(
        len(words), len(levels)
    )
    return (columns if weight is None else columns * weight[:, None]), levels


def groups(rows: Rows) -> list[Group]:
    """All groups whose spread is learned from the rows."""
    bars, across = rows.bars, rows.bars.across.astype(float)
    filled = (rows.filler != "").astype(float)
    chosen: list[tuple[str, Any, Array | None]] = [
        ("filler", rows.filler, None),
        ("material", bars.material, None),
        ("filler_across", rows.filler, across),
        ("material_across", bars.material, across),
        ("study", rows.fold, np.sqrt(rows.doubt)),
        ("study_across", rows.fold, across * np.sqrt(rows.doubt)),
        ("study_filled", rows.fold, filled * np.sqrt(rows.doubt)),
        ("study_filled_across", rows.fold, filled * across * np.sqrt(rows.doubt)),
        ("spool", rows.spool, None),
        ("spool_across", rows.spool, across),
        ("grade", rows.grade, None),
    ]
    return [Group(name, *indicators(words, weight)) for name, words, weight in chosen]


KEPT_GROUPS = ("filler", "material", "filler_across", "material_across")
KEPT_SLOPES = (
    "level",
    "silent",
    "annealed",
    "annealed_across",
    "sheet",
    "sheet_across",
    "across",
    "bending",
    "bending_across",
    "bending_reserve",
    "compression",
)
