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
    DROPPED_GROUPS,
    KEPT_GROUPS,
    SLOPE_PRIOR,
    Group,
    Rows,
    groups,
    slopes,
)

Array = NDArray[np.float64]

STUDY_DEGREES = 4.0
SPREAD_PRIOR_MEDIAN, SPREAD_PRIOR_LOG_SD = 0.10, 0.7  # weak: 90 % of the prior between 0.03 and 0.32
REWEIGHTINGS = 4


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


def fit(rows: Rows, strangers: Rows, drop: frozenset[str] = frozenset()) -> Fit:
    """Fit the model to `rows`; slopes and groups named in `drop` are left out.

    `strangers` are the same rows against mechanics that know nothing of the row's own study (foldless.py).
    The spreads of a prediction come from them, for a study to be predicted is a stranger too; the coefficients
    come from `rows`, for they correct the mechanics as they stand.
    """
    stranger = _Model.of(strangers, drop)
    theta, weights = stranger.settled()
    scale = stranger.scale(theta)
    spreads = dict(zip(stranger.spread_names, np.exp(theta).tolist(), strict=True))
    model = _Model.of(rows, drop)
    names, mean, covariance = model.posterior(*model.settled())
    return Fit(names, mean, covariance, spreads, scale)


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
        return cls(rows, tuple(inputs), columns, mean, sd, found, grams, rows.target - columns @ mean, fixed, noise)

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
        return self.fixed + np.einsum("g,gij->ij", np.exp(2.0 * theta), grams)

    def best_spreads(self, start: Array, weights: Array) -> Array:
        """Log standard deviations of the groups and the noise that maximise the posterior density."""
        from scipy.optimize import minimize

        grams = self.weighted_grams(weights)
        bounds = [(np.log(0.01), np.log(1.0))] * len(start)
        found = minimize(self._objective, start, args=(grams,), jac=True, method="L-BFGS-B", bounds=bounds,
                         options={"maxiter": 60})  # fmt: skip
        return np.asarray(found.x)

    def _objective(self, theta: Array, grams: Array) -> tuple[float, Array]:
        covariance = self.covariance(theta, grams)
        inverse = np.linalg.inv(covariance)
        _, log_determinant = np.linalg.slogdet(covariance)
        alpha = inverse @ self.residual
        away = (theta - np.log(SPREAD_PRIOR_MEDIAN)) / SPREAD_PRIOR_LOG_SD
        value = 0.5 * (self.residual @ alpha + log_determinant) + 0.5 * away @ away
        traces = np.einsum("gij,ij->g", grams, inverse - np.outer(alpha, alpha))
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

    def settled(self) -> tuple[Array, Array]:
        """Log spreads and study weights, each found given the other until they settle."""
        weights = np.ones(self.study_count)
        theta = np.full(len(self.spread_names), np.log(SPREAD_PRIOR_MEDIAN))
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


def _unknown_settings(rows: Rows) -> Array:
    """Covariance from settings that sources left out: a study keeps to its own, so its rows share the error."""
    sd = rows.bars.settings_log_sd
    same = rows.study[:, None] == rows.study[None, :]
    return np.where(same, np.outer(sd, sd), 0.0) + 1e-6 * np.eye(len(rows))


def predict(model: Fit, rows: Rows) -> tuple[Array, Array]:
    """Log correction and its standard deviation for bars of a study, printer and spool not seen before."""
    columns = _columns(model, rows)
    variance = np.einsum("ij,jk,ik->i", columns, model.covariance, columns)
    across = rows.bars.across.astype(float)
    s = model.spreads
    for name in DROPPED_GROUPS:
        variance += s.get(name, 0.0) ** 2 * (across if name.endswith("across") else 1.0) * (name != "grade")
    variance += np.where(rows.bars.across, s["noise_across"], s["noise_along"]) ** 2
    variance += _unseen(model, rows) + rows.bars.settings_log_sd**2
    return columns @ model.mean, model.scale * np.sqrt(variance)


def _columns(model: Fit, rows: Rows) -> Array:
    inputs = slopes(rows)
    named = {f"{g.name}:{lv}": g.columns[:, i] for g in groups(rows) for i, lv in enumerate(g.levels)} | inputs
    zero = np.zeros(len(rows))
    return np.stack([named.get(name, zero) for name in model.names], axis=1)


def _unseen(model: Fit, rows: Rows) -> Array:
    """Variance of levels (a family, a filler, a material) that the fit has not seen."""
    variance = np.zeros(len(rows))
    known = set(model.names)
    for group in groups(rows):
        if group.name in KEPT_GROUPS and group.name in model.spreads:
            for i, level in enumerate(group.levels):
                if f"{group.name}:{level}" not in known:
                    variance += (model.spreads[group.name] * group.columns[:, i]) ** 2
    return variance
