"""The hierarchical linear model in closed form, its spreads by marginal likelihood.

    y = X b + sum_g Z_g u_g + e,   b ~ N(m, S),   u_g ~ N(0, s_g^2 I),   e_i ~ N(0, doubt_i n_d(i)^2 + v_i)

with d = along or across the layers and v_i the variance of the mechanics' figure from unknown settings. The
s_g and n_d maximise the marginal likelihood times a weak log-normal prior. Studies are given heavier tails than
normal: each study's variance is divided by a weight that falls when its offset is far out (expectation of the
scale of a Student distribution with STUDY_DEGREES degrees of freedom).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.regression.training.design import (
    KEPT_GROUPS,
    KEPT_SLOPES,
    SLOPE_PRIOR,
    Group,
    Rows,
    groups,
    slopes,
)

Array = NDArray[np.float64]

STUDY_DEGREES = 4.0
SPREAD_PRIOR_MEDIAN, SPREAD_PRIOR_LOG_SD = 0.10, 0.7  # weak: 90 % of the prior between 0.03 and 0.32
REWEIGHTINGS = 3


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted model: posterior of the coefficients that carry over to a new print, and the spreads.

    `spreads` maps every group, and noise_along and noise_across, to its standard deviation.
    `scale` multiplies the standard deviation of a prediction; it makes the training folds' own leave-one-out
    intervals cover as stated.
    """

    names: tuple[str, ...]
    mean: Array
    covariance: Array
    spreads: dict[str, float]
    scale: float = 1.0


def fit(rows: Rows, strangers: Rows, drop: frozenset[str] = frozenset(), start: Fit | None = None) -> Fit:
    """Fit the model to `rows`; slopes and groups named in `drop` are left out.

    `strangers` are the same rows against mechanics that know nothing of the row's own study (foldless.py).
    The spreads of a prediction come from them, for a study to be predicted is a stranger too; the coefficients
    come from `rows`, for they correct the mechanics as they stand. `start` only tells the search where to begin.
    """
    stranger = _Model.of(strangers, drop)
    theta, _ = stranger.settled(start.spreads if start else {})
    scale = stranger.scale(theta)
    spreads = dict(zip(stranger.spread_names, np.exp(theta).tolist(), strict=True))
    model = _Model.of(rows, drop)
    names, mean, covariance = model.posterior(*model.settled(spreads))
    carried = [i for i, name in enumerate(names) if ":" in name or name in KEPT_SLOPES]
    return Fit(
        tuple(names[i] for i in carried), mean[carried], covariance[np.ix_(carried, carried)], spreads, scale
    )


@dataclass(frozen=True, slots=True)
class _Model:
    rows: Rows
    slope_names: tuple[str, ...]
    slope_columns: Array
    slope_mean: Array
    slope_sd: Array
    groups: tuple[Group, ...]
    grams: Array
    residual: Array
    fixed: Array
    noise: Array

    @classmethod
    def of(cls, rows: Rows, drop: frozenset[str]) -> _Model:
        inputs = {n: c for n, c in slopes(rows).items() if n not in drop}
        columns = np.stack(list(inputs.values()), axis=1)
        mean = np.array([SLOPE_PRIOR[n][0] for n in inputs])
        sd = np.array([SLOPE_PRIOR[n][1] for n in inputs])
        found = tuple(g for g in groups(rows) if g.name not in drop and len(g.levels))
        noise = np.stack([rows.doubt * ~rows.bars.across, rows.doubt * rows.bars.across])
        grams = np.stack([*(g.columns @ g.columns.T for g in found), *(np.diag(n) for n in noise)])
        fixed = (columns * sd**2) @ columns.T + _unknown_settings(rows)
        return cls(
            rows, tuple(inputs), columns, mean, sd, found, grams, rows.target - columns @ mean, fixed, noise
        )

    @property
    def spread_names(self) -> tuple[str, ...]:
        return (*(g.name for g in self.groups), "noise_along", "noise_across")

    @property
    def study_index(self) -> int:
        return self.spread_names.index("study")

    @property
    def study_count(self) -> int:
        return len(self.groups[self.study_index].levels)

    def weighted_grams(self, weights: Array) -> Array:
        grams = self.grams.copy()
        columns = self.groups[self.study_index].columns
        grams[self.study_index] = (columns / weights) @ columns.T
        return grams

    def covariance(self, theta: Array, grams: Array) -> Array:
        count = len(self.residual)
        return self.fixed + (np.exp(2.0 * theta) @ grams.reshape(len(grams), -1)).reshape(count, count)

    def best_spreads(self, start: Array, weights: Array) -> Array:
        """Log standard deviations of the groups and the noise that maximise the posterior density."""
        from scipy.optimize import minimize

        grams = self.weighted_grams(weights)
        bounds = [(np.log(0.01), np.log(1.0))] * len(start)
        found = minimize(self._objective, start, args=(grams,), jac=True, method="L-BFGS-B", bounds=bounds,
                         options={"maxiter": 40})  # fmt: skip
        return np.asarray(found.x)

    def _objective(self, theta: Array, grams: Array) -> tuple[float, Array]:
        inverse, log_determinant = _inverse(self.covariance(theta, grams))
        alpha = inverse @ self.residual
        away = (theta - np.log(SPREAD_PRIOR_MEDIAN)) / SPREAD_PRIOR_LOG_SD
        value = 0.5 * (self.residual @ alpha + log_determinant) + 0.5 * away @ away
        traces = grams.reshape(len(grams), -1) @ (inverse - np.outer(alpha, alpha)).ravel()
        gradient = np.exp(2.0 * theta) * traces + away / SPREAD_PRIOR_LOG_SD
        return float(value), gradient

    def study_weights(self, theta: Array, weights: Array) -> Array:
        """Expected scale of every study's variance given its offset (Student tails)."""
        spread = np.exp(2.0 * theta[self.study_index])
        columns = self.groups[self.study_index].columns
        inverse = np.linalg.inv(self.covariance(theta, self.weighted_grams(weights)))
        prior = spread / weights
        offset = prior * (columns.T @ (inverse @ self.residual))
        left = prior - prior**2 * np.einsum("is,ij,js->s", columns, inverse, columns)
        return np.asarray((STUDY_DEGREES + 1.0) / (STUDY_DEGREES + (offset**2 + left) / spread))

    def settled(self, start: dict[str, float]) -> tuple[Array, Array]:
        """Log spreads and study weights, each found given the other until they settle."""
        weights = np.ones(self.study_count)
        theta = np.log([start.get(name, SPREAD_PRIOR_MEDIAN) for name in self.spread_names])
        for _ in range(REWEIGHTINGS):
            theta = self.best_spreads(theta, weights)
            weights = self.study_weights(theta, weights)
        return theta, weights

    def posterior(self, theta: Array, weights: Array) -> tuple[tuple[str, ...], Array, Array]:
        """Mean and covariance of the coefficients that carry over to a new print."""
        spreads = np.exp(theta)
        inverse = np.linalg.inv(self.covariance(theta, self.weighted_grams(weights)))
        kept = [(g, s) for g, s in zip(self.groups, spreads, strict=False) if g.name in KEPT_GROUPS]
        columns = np.concatenate([self.slope_columns, *(g.columns for g, _ in kept)], axis=1)
        prior = np.concatenate([self.slope_sd**2, *(np.full(len(g.levels), s**2) for g, s in kept)])
        gain = prior[:, None] * columns.T
        mean = gain @ inverse @ self.residual
        mean[: len(self.slope_mean)] += self.slope_mean
        covariance = np.diag(prior) - gain @ inverse @ gain.T
        names = (*self.slope_names, *(f"{g.name}:{level}" for g, _ in kept for level in g.levels))
        return names, mean, covariance

    def scale(self, theta: Array) -> float:
        """Standardised errors of whole training folds left out, in closed form; 1.0 where they are normal.

        For a group G of a Gaussian model the error of predicting it from the rest has mean [K^-1]_GG^-1 a_G
        and covariance [K^-1]_GG^-1, with a = K^-1 (y - m).
        """
        inverse = np.linalg.inv(self.covariance(theta, self.grams))
        alpha = inverse @ self.residual
        z = []
        for fold in np.unique(self.rows.fold):
            here = np.flatnonzero(self.rows.fold == fold)
            covariance = np.linalg.inv(inverse[np.ix_(here, here)])
            z.append(np.abs(covariance @ alpha[here]) / np.sqrt(np.diag(covariance)))
        return float(np.clip(np.quantile(np.concatenate(z), 0.9) / 1.645, 1.0, 1.5))


def _inverse(matrix: Array) -> tuple[Array, float]:
    """Inverse and log determinant of a positive definite matrix, by Cholesky's factor."""
    from scipy.linalg import lapack

    factor, failed = lapack.dpotrf(matrix, lower=1)
    if failed:
        raise np.linalg.LinAlgError("the covariance is not positive definite")
    lower, _ = lapack.dpotri(factor, lower=1)
    return np.tril(lower) + np.tril(lower, -1).T, 2.0 * float(np.sum(np.log(np.diag(factor))))


def _unknown_settings(rows: Rows) -> Array:
    """Covariance from settings that sources left out: a study keeps to its own, so its rows share the error."""
    sd = rows.bars.settings_log_sd
    same = rows.study[:, None] == rows.study[None, :]
    return np.where(same, np.outer(sd, sd), 0.0) + 1e-6 * np.eye(len(rows))
