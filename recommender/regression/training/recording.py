"""From a fit to the record that ships, and the refit as a whole."""

from __future__ import annotations

from dataclasses import replace
from importlib.metadata import version
from typing import Any

import numpy as np

from recommender.regression.record import FORMAT, Record, record_from
from recommender.regression.tables import datasets_folder, fingerprint
from recommender.regression.training.design import Rows
from recommender.regression.training.evidence import Evidence
from recommender.regression.training.fitting import Fit, fit
from recommender.regression.training.selection import VARIANTS, Spreads, choose

DIGITS = 4  # of coefficients and covariances, after the point; far below what the data can tell


def plain_record(model: Fit, rows: Rows, held_out: dict[str, Any]) -> dict[str, Any]:
    """The record of a fit as a plain mapping; `rows` are those it was fitted to."""
    coefficients = dict(zip(model.names, (round(float(m), DIGITS) for m in model.mean), strict=True))
    ratio = rows.bars.layer_over_nozzle
    return {
        "format": FORMAT,
        "what": "log(measured / mechanics) of strength: coefficients and covariance of a hierarchical linear "
        "model; made by `python -m recommender.regression.training --refit`, not by hand",
        "data": data_digest(),
        "libraries": {name: version(name) for name in ("numpy", "scipy")},
        "rows": len(rows),
        "studies": len(np.unique(rows.fold)),
        "scale": {way: round(value, DIGITS) for way, value in model.scale.items()},
        "terms": model.variant,
        "layer_over_nozzle": [round(float(ratio.min()), 3), round(float(ratio.max()), 3)],
        "spreads": {name: round(value, DIGITS) for name, value in model.spreads.items()},
        "coefficients": coefficients,
        "covariance": [
            [round(float(v), DIGITS + 2) for v in row[: i + 1]] for i, row in enumerate(model.covariance)
        ],
        "seen": seen_by_material(rows),
        "held_out": held_out,
    }


def data_digest() -> str:
    """SHA-256 of the tables that the record was fitted to."""
    folder = datasets_folder() / "coupons"
    return fingerprint(folder / "coupons.csv", folder / "studies.yaml")


def seen_by_material(rows: Rows) -> dict[str, dict[str, int]]:
    """Rows along and across the layers and studies, by material."""
    across, material = rows.bars.across, rows.bars.material
    return {
        str(key): {
            "along": int(np.sum(~across[material == key])),
            "across": int(np.sum(across[material == key])),
            "studies": len(np.unique(rows.fold[material == key])),
        }
        for key in np.unique(material)
    }


def fitted_without(
    evidence: Evidence,
    folds: frozenset[str],
    start: Spreads | None = None,
    drop: frozenset[str] | None = None,
) -> Record:
    """The record that would ship if `folds` had never been seen: not by the fit, the choice of its terms or the
    knowledge base. `start` only tells the search for the spreads where to begin; `drop` forces the terms left out."""
    rows = evidence.all.where(evidence.fitted_but(folds))
    return record_from(plain_record(_fitted(evidence, folds, start, drop), rows, {}))


def fitted_to_all(evidence: Evidence, drop: frozenset[str] | None = None) -> Fit:
    """The fit to every row that may be fitted."""
    return _fitted(evidence, frozenset(), None, drop)


def _fitted(
    evidence: Evidence, folds: frozenset[str], start: Spreads | None, drop: frozenset[str] | None
) -> Fit:
    keep = evidence.fitted_but(folds)
    rows, strangers = evidence.without(folds).where(keep), evidence.as_strangers(folds).where(keep)
    variant, spreads = choose(strangers, VARIANTS if drop is None else {"forced": drop}, start)
    return replace(fit(rows, strangers, variant.drop, spreads), variant=variant.name)
