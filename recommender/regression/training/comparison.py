"""The model beside its rivals on studies that none of them has seen."""

from __future__ import annotations

import warnings
from dataclasses import asdict
from typing import Any

import numpy as np
from numpy.typing import NDArray
from tabulate import tabulate

from recommender.regression.scores import groups_of, score
from recommender.regression.tables import Table
from recommender.regression.training.design import Rows
from recommender.regression.training.evidence import Evidence
from recommender.regression.training.fitting import spreads_of
from recommender.regression.training.held_out import HeldOut, by_model, by_rival
from recommender.regression.training.rivals import RIVALS
from recommender.regression.training.selection import VARIANTS, WITH_THE_SECTION, scores_by_study

BASELINES = ("mechanics alone", "material mean")


def compared(evidence: Evidence, with_learners: bool = True) -> dict[str, HeldOut]:
    """Held-out predictions by name; the learners of scikit-learn take about a minute."""
    found = {"hierarchical linear": by_model(evidence)}
    for name, rival in RIVALS.items():
        if with_learners or name in BASELINES:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # kernel bounds of the Gaussian process
                found[name] = by_rival(name, evidence, rival)
    return found


def held_out_columns(evidence: Evidence, found: dict[str, HeldOut]) -> dict[str, list[Any]]:
    """The predictions as plain columns, four figures each."""
    rows, model = evidence.all, found["hierarchical linear"]

    def strength(logs: NDArray[np.float64]) -> list[float]:
        return [float(f"{value:.4g}") for value in np.exp(logs)]

    return {
        "row": evidence.coupons["row"][rows.bars.index].tolist(),
        "study": rows.study.tolist(),
        "fold": rows.fold.tolist(),
        "spool": rows.spool.tolist(),
        "material": rows.bars.material.tolist(),
        "test": rows.bars.test.tolist(),
        "across": rows.bars.across.tolist(),
        "fitted": rows.fitted.tolist(),
        "filled": (rows.filler != "").tolist(),
        "section_known": rows.bars.section_known.tolist(),
        "measured_mpa": strength(rows.log_measured),
        "predicted_mpa": strength(model.log_strength),
        "log_sd": [round(float(s), 4) for s in model.log_sd],
        "mechanics_mpa": strength(found["mechanics alone"].log_strength),
        "material_mean_mpa": strength(found["material mean"].log_strength),
    }


def summary(columns: dict[str, list[Any]]) -> dict[str, Any]:
    """Scores of the main sets, for the record."""
    table = Table({name: np.array(values) for name, values in columns.items()})
    return {
        name: {k: round(v, 3) for k, v in asdict(score(part)).items()}
        for name, part in groups_of(table).items()
        if not name.startswith("material")
    }


def _kin_of(rows: Rows, i: int) -> NDArray[np.bool_]:
    """Mask of the other fitted rows of the same study, material, test and direction as row `i`."""
    bars = rows.bars
    kin = (rows.fold == rows.fold[i]) & (bars.material == bars.material[i]) & (bars.test == bars.test[i])
    kin &= (bars.across == bars.across[i]) & rows.fitted
    kin[i] = False
    return np.asarray(kin)


def same_study_other_spools(evidence: Evidence) -> HeldOut:
    """A floor, not a prediction: the mean of the other spools of the same study, material, test and direction.

    It knows the study's machine and user and the kind of plastic, and not the spool. Rows without such kin
    are NaN.
    """
    rows = evidence.all
    log_strength = np.full(len(rows), np.nan)
    for i in range(len(rows)):
        kin = _kin_of(rows, i) & (rows.spool != rows.spool[i])
        if kin.any():
            log_strength[i] = rows.log_measured[kin].mean()
    return HeldOut("other spools, same study", log_strength, np.full(len(rows), np.nan))


def floor_of(evidence: Evidence, found: dict[str, HeldOut]) -> dict[str, dict[str, float]]:
    """Median error of the floor and of the model on the very same rows, by direction."""
    floor, rows, model = same_study_other_spools(evidence), evidence.all, found["hierarchical linear"]
    has_kin = rows.fitted & np.isfinite(floor.log_strength)
    told = {}
    for name, part in (("along", has_kin & ~rows.bars.across), ("across", has_kin & rows.bars.across)):
        missed = [np.abs(np.expm1(h.log_strength - rows.log_measured))[part] for h in (floor, model)]
        kin, held = (round(float(np.median(m)), 4) for m in missed)
        told[name] = {"rows": int(part.sum()), "other_spools": kin, "model": held}
    return told


def study_known_text(evidence: Evidence, found: dict[str, HeldOut]) -> str:
    """What is left of the model's error once a study's own offset is known, over rows of known section.

    The offset is the mean log error over the study's other rows of the same material, test and direction: what a
    maker's own log tells.
    """
    rows, bars = evidence.all, evidence.all.bars
    off = found["hierarchical linear"].log_strength - rows.log_measured
    offset = np.full(len(rows), np.nan)
    for i in range(len(rows)):
        kin = _kin_of(rows, i)
        if kin.any():
            offset[i] = off[kin].mean()
    has_kin = rows.fitted & bars.section_known & np.isfinite(offset)
    before, after = (np.median(np.abs(np.expm1(e[has_kin]))) for e in (off, off - offset))
    return (
        f"Rows of known section whose study has others like them: {has_kin.sum()}, half off by less than "
        f"{before:.1%}; with the study's offset known {after:.1%}."
    )


def terms_text(evidence: Evidence) -> str:
    """Score of every variant of the model's terms, and how far it is behind the one before, by study."""
    fitted = evidence.all.fitted
    strangers = evidence.as_strangers().where(fitted)
    variants = {**VARIANTS, **WITH_THE_SECTION}
    scores = scores_by_study(strangers, variants, spreads_of(strangers, frozenset()))
    lines, before = [], None
    for name, now in scores.items():
        step = now - before if before is not None else np.zeros(2)
        error = step.std(ddof=1) / np.sqrt(len(step))
        against = f"{step.mean():+.4f} +- {error:.4f}" if before is not None else ""
        lines.append((name, f"{now.mean():.4f}", against))
        before = now
    return tabulate(lines, ["terms", "score (less is better)", "against the line before"])


def floor_text(evidence: Evidence, found: dict[str, HeldOut]) -> str:
    """The floor beside the model, as a table."""
    lines = [
        (name, told["rows"], f"{told['other_spools']:.1%}", f"{told['model']:.1%}")
        for name, told in floor_of(evidence, found).items()
    ]
    return tabulate(lines, ["direction", "rows", "other spools of the same study", "model, study held out"])


def comparison_text(evidence: Evidence, found: dict[str, HeldOut]) -> str:
    """One line per model: errors over the fitted rows, and their mean by study with its standard error."""
    rows = evidence.all
    lines = []
    plain = np.abs(found["mechanics alone"].log_strength - rows.log_measured)
    for name, held in found.items():
        off = np.abs(held.log_strength - rows.log_measured)
        share = np.abs(np.expm1(held.log_strength - rows.log_measured))[rows.fitted]
        studies = np.unique(rows.study[rows.fitted])
        each = np.array([off[rows.fitted & (rows.study == s)].mean() for s in studies])
        gained = each - [plain[rows.fitted & (rows.study == s)].mean() for s in studies]
        lines.append((
            name, f"{np.median(share):.1%}", f"{np.quantile(share, 0.9):.0%}", f"{off[rows.fitted].mean():.3f}",
            f"{each.mean():.3f} +- {each.std(ddof=1) / np.sqrt(len(each)):.3f}",
            f"{gained.mean():+.3f} +- {gained.std(ddof=1) / np.sqrt(len(gained)):.3f}",
        ))  # fmt: skip
    head = ["model", "median error", "90th percentile", "mean |log|", "mean |log| by study",
            "against mechanics, paired"]  # fmt: skip
    return tabulate(lines, head)
