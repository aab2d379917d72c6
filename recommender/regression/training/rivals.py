"""What the model is compared with: each gets training rows and rows to predict, and returns log strengths."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from recommender.regression.training.design import Rows
from recommender.regression.training.held_out import Rival

Array = NDArray[np.float64]


def mechanics_alone(train: Rows, test: Rows) -> Array:
    """No correction."""
    return test.bars.log_mechanics


def material_mean(train: Rows, test: Rows) -> Array:
    """Geometric mean of the training rows of the same material, direction and test; coarser where there are none."""
    ladder = [
        lambda r: [
            f"{m}|{a}|{t}" for m, a, t in zip(r.bars.material, r.bars.across, r.bars.test, strict=True)
        ],
        lambda r: [f"{f}|{c}|{a}" for f, c, a in zip(r.family, r.filler, r.bars.across, strict=True)],
        lambda r: [f"{a}" for a in r.bars.across],
    ]
    predicted = np.full(len(test), train.log_measured.mean())
    for key_of in reversed(ladder):
        known, wanted = np.array(key_of(train)), np.array(key_of(test))
        for key in np.unique(wanted):
            if (known == key).any():
                predicted[wanted == key] = train.log_measured[known == key].mean()
    return predicted


def _inputs(rows: Rows, levels: dict[str, list[str]]) -> Array:
    bars = rows.bars
    words = {"material": bars.material, "family": rows.family, "filler": rows.filler, "test": bars.test}
    coded = [(words[name] == level).astype(float) for name, known in levels.items() for level in known]
    numbers = [bars.across, bars.layer_over_nozzle - 0.5, bars.skin_fraction, bars.core_lift,
               bars.bending_reserve]  # fmt: skip
    return np.stack([*coded, *(np.asarray(n, dtype=float) for n in numbers)], axis=1)


def _learner(make: Any) -> Rival:
    """A scikit-learn regressor of log(measured / mechanics), rows weighed by how far they are trusted."""

    def rival(train: Rows, test: Rows) -> Array:
        levels = {
            "material": np.unique(train.bars.material).tolist(), "family": np.unique(train.family).tolist(),
            "filler": np.unique(train.filler).tolist(), "test": np.unique(train.bars.test).tolist(),
        }  # fmt: skip
        model = make(train)
        model.fit(_inputs(train, levels), train.target)
        return np.asarray(test.bars.log_mechanics + model.predict(_inputs(test, levels)))

    return rival


def _ridge(train: Rows) -> Any:
    """Ridge, its strength chosen on the training studies alone, one left out at a time."""
    from sklearn.linear_model import Ridge
    from sklearn.model_selection import GridSearchCV, LeaveOneGroupOut

    folds = list(LeaveOneGroupOut().split(train.target, groups=train.fold))
    return GridSearchCV(Ridge(), {"alpha": [1.0, 3.0, 10.0, 30.0, 100.0]}, cv=folds,
                        scoring="neg_mean_absolute_error")  # fmt: skip


def _bayesian_ridge(train: Rows) -> Any:
    from sklearn.linear_model import BayesianRidge

    return BayesianRidge()


def _gaussian_process(train: Rows) -> Any:
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel

    bounds = (1e-2, 1e2)
    kernel = ConstantKernel(0.1, bounds) * RBF(2.0, (0.3, 30.0)) + WhiteKernel(0.1, (1e-3, 1.0))
    return GaussianProcessRegressor(kernel, normalize_y=True, random_state=0)


def _boosting(train: Rows) -> Any:
    from sklearn.ensemble import GradientBoostingRegressor

    return GradientBoostingRegressor(
        loss="absolute_error",
        n_estimators=150,
        max_depth=2,
        learning_rate=0.05,
        subsample=0.7,
        random_state=0,
    )


RIVALS: dict[str, Rival] = {
    "mechanics alone": mechanics_alone,
    "material mean": material_mean,
    "ridge": _learner(_ridge),
    "Bayesian ridge": _learner(_bayesian_ridge),
    "Gaussian process": _learner(_gaussian_process),
    "gradient boosting": _learner(_boosting),
}
