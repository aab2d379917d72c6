"""The hierarchical linear model in closed form, its spreads by marginal likelihood.

    y = X b + sum_g Z_g u_g + e,   b ~ N(m, S),   u_g ~ N(0, s_g^2 I),   e_i ~ N(0, doubt_i n_d(i)^2 + v_i)

with d = along or across the layers and v_i the variance of the mechanics' figure from unknown settings. The
s_g and n_d maximise the marginal likelihood times a weak log-normal prior. Studies are given heavier tails than
normal, along and across, and so are single rows: each one's variance is divided by a weight that falls when its
offset is far out (expectation of the scale of a Student distribution with DEGREES degrees of freedom).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lapack
from scipy.optimize import minimize
from threadpoolctl import threadpool_limits

from recommender.regression.record import scale_key
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
Words = NDArray[np.str_]

DEGREES = 4.0
HEAVY_TAILED = ("study", "study_across")
SPREAD_PRIOR_LOG_SD = 0.7  # weak: 90 % of the prior within a factor of 3.2
SPREAD_PRIOR_MEDIAN = 0.10
# The bond's own prior: low and high of the knowledge base's ratios across to along lie a factor of 2.5 apart on average,
# which is nine in ten of a standard deviation of 0.28; the offsets of studies, spools and bars are taken as two thirds
# (estimates).
SPREAD_PRIOR_MEDIAN_OF = {
    "material_across": 0.28, "study_across": 0.20, "study_filled_across": 0.20, "spool_across": 0.20,
    "noise_across": 0.20,
}  # fmt: skip
REWEIGHTINGS = 3
WIDEST = 2.0  # by which intervals may be widened at most
AS_MANY_STUDIES = 4.0  # what the prior of a material's own scale counts as


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted model: posterior of the coefficients that carry over to a new print, and the spreads.

    `spreads` maps every group, and noise_along and noise_across, to its standard deviation.
    `scale` multiplies the standard deviation of a prediction, as in a Record; it makes
    the training folds' own leave-one-out intervals cover as stated. `variant` names the terms kept (selection.py).
    """

    names: tuple[str, ...]
    mean: Array
    covariance: Array
    spreads: dict[str, float]
    scale: Mapping[str, float]
    variant: str = ""


def fit(
    rows: Rows, strangers: Rows, drop: frozenset[str] = frozenset(), start: Mapping[str, float] | None = None
) -> Fit:
    """Fit the model to `rows`; slopes and groups named in `drop` are left out.

    `strangers` are the same rows against mechanics that know nothing of the row's own study (foldless.py).
    The spreads of a prediction come from them, for a study to be predicted is a stranger too; the coefficients
    come from `rows`, for they correct the mechanics as they stand. `start`, spreads, only tells where the search begins.
    """
    with threadpool_limits(1):  # matrices this small are slower with more
        stranger = _Model.of(strangers, drop)
        theta, weights = stranger.settled(start or {})
        scale = stranger.scale(theta, weights)
        spreads = dict(zip(stranger.spread_names, np.exp(theta).tolist(), strict=True))
        model = _Model.of(rows, drop)
        names, mean, covariance = model.posterior(*model.settled(spreads))
    carried = [i for i, name in enumerate(names) if ":" in name or name in KEPT_SLOPES]
    return Fit(
        tuple(names[i] for i in carried), mean[carried], covariance[np.ix_(carried, carried)], spreads, scale
    )


def spreads_of(
    rows: Rows, drop: frozenset[str], start: Mapping[str, float] | None = None
) -> dict[str, float]:
    """Standard deviations of the groups and of the noise that `rows` make likely."""
    with threadpool_limits(1):
        model = _Model.of(rows, drop)
        theta, _ = model.settled(start or {})
    return dict(zip(model.spread_names, np.exp(theta).tolist(), strict=True))


def left_out_scores(rows: Rows, drop: frozenset[str], spreads: Mapping[str, float]) -> Array:
    """Every row's score when its whole study is left out, at given spreads.

    The score is the negative logarithm of the density that was predicted where the measurement lies: the smaller,
    the nearer and the surer the prediction.
    """
    with threadpool_limits(1):
        model = _Model.of(rows, drop)
        theta = np.log([spreads[name] for name in model.spread_names])
        error, log_sd = model.left_out(theta, model.new_weights(theta, model.plain_weights()))
    return np.asarray(0.5 * (error / log_sd) ** 2 + np.log(log_sd) + 0.5 * np.log(2 * np.pi))


def material_scales(material: Words, fold: Words, z: Array) -> dict[str, float]:
    """How much wider the intervals of each material are than of all, from standardised errors `z`.

    A material whose studies contradict one another deserves less trust; that a few agree earns it no more. Each
    study gives one mean square; with few studies it is drawn to 1, as a variance with AS_MANY_STUDIES behind it
    would be (inverse gamma prior).
    """
    found = {}
    for key in np.unique(material):
        squares = [np.mean(z[(material == key) & (fold == f)] ** 2) for f in np.unique(fold[material == key])]
        drawn = (AS_MANY_STUDIES + sum(squares)) / (AS_MANY_STUDIES + len(squares))
        found[f"material:{key}"] = float(np.clip(np.sqrt(drawn), 1.0, WIDEST))
    return found


@dataclass(frozen=True, slots=True)
class Weights:
    """What variances are divided by: of the levels of heavy-tailed groups, and of the rows' noise."""

    levels: Mapping[str, Array]
    rows: Array


def _expected_scale(square: Array) -> Array:
    """Expected weight of something whose squared offset, over its spread's, is `square`."""
    return np.asarray((DEGREES + 1.0) / (DEGREES + square))


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
    def prior_medians(self) -> list[float]:
        return [SPREAD_PRIOR_MEDIAN_OF.get(name, SPREAD_PRIOR_MEDIAN) for name in self.spread_names]

    def plain_weights(self) -> Weights:
        """All ones: normal tails."""
        heavy = [g for g in self.groups if g.name in HEAVY_TAILED]
        return Weights({g.name: np.ones(len(g.levels)) for g in heavy}, np.ones(len(self.rows)))

    def weighted_grams(self, weights: Weights) -> Array:
        grams = self.grams.copy()
        for place, group in enumerate(self.groups):
            if group.name in weights.levels:
                grams[place] = (group.columns / weights.levels[group.name]) @ group.columns.T
        for place in (-2, -1):
            grams[place] = np.diag(np.diag(self.grams[place]) / weights.rows)
        return grams

    def covariance(self, theta: Array, grams: Array) -> Array:
        count = len(self.residual)
        return self.fixed + (np.exp(2.0 * theta) @ grams.reshape(len(grams), -1)).reshape(count, count)

    def best_spreads(self, start: Array, weights: Weights) -> Array:
        """Log standard deviations of the groups and the noise that maximise the posterior density."""
        grams = self.weighted_grams(weights)
        bounds = [(np.log(0.01), np.log(1.0))] * len(start)
        found = minimize(self._objective, start, args=(grams,), jac=True, method="L-BFGS-B", bounds=bounds,
                         options={"maxiter": 40})  # fmt: skip
        return np.asarray(found.x)

    def _objective(self, theta: Array, grams: Array) -> tuple[float, Array]:
        inverse, log_determinant = _inverse(self.covariance(theta, grams))
        alpha = inverse @ self.residual
        away = (theta - np.log(self.prior_medians)) / SPREAD_PRIOR_LOG_SD
        value = 0.5 * (self.residual @ alpha + log_determinant) + 0.5 * away @ away
        traces = grams.reshape(len(grams), -1) @ (inverse - np.outer(alpha, alpha)).ravel()
        gradient = np.exp(2.0 * theta) * traces + away / SPREAD_PRIOR_LOG_SD
        return float(value), gradient

    def new_weights(self, theta: Array, weights: Weights) -> Weights:
        """Expected scale of every variance given its offset (Student tails)."""
        inverse = np.linalg.inv(self.covariance(theta, self.weighted_grams(weights)))
        alpha = inverse @ self.residual
        levels = {}
        for group, spread in zip(self.groups, np.exp(2.0 * theta), strict=False):
            if group.name in weights.levels:
                columns = group.columns
                prior = spread / weights.levels[group.name]
                offset = prior * (columns.T @ alpha)
                left = prior - prior**2 * np.einsum("is,ij,js->s", columns, inverse, columns, optimize=True)
                levels[group.name] = _expected_scale((offset**2 + left) / spread)
        noise = np.exp(2.0 * theta[-2:]) @ np.diagonal(self.grams[-2:], axis1=1, axis2=2)
        prior = noise / weights.rows
        square = (prior * alpha) ** 2 + prior - prior**2 * np.diag(inverse)
        return Weights(levels, _expected_scale(square / noise))

    def settled(self, start: Mapping[str, float]) -> tuple[Array, Weights]:
        """Log spreads and weights, each found given the other until they settle."""
        weights = self.plain_weights()
        theta = np.log([start.get(n, m) for n, m in zip(self.spread_names, self.prior_medians, strict=True)])
        for _ in range(REWEIGHTINGS):
            theta = self.best_spreads(theta, weights)
            weights = self.new_weights(theta, weights)
        return theta, weights

    def posterior(self, theta: Array, weights: Weights) -> tuple[tuple[str, ...], Array, Array]:
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

    def left_out(self, theta: Array, weights: Weights) -> tuple[Array, Array]:
        """Error of every row, and its standard deviation, when its whole study is predicted from the others.

        In closed form: for a group G of a Gaussian model the error of predicting it from the rest is
        [K^-1]_GG^-1 a_G and its covariance [K^-1]_GG^-1, with a = K^-1 (y - m) (Rasmussen and Williams, Gaussian
        Processes for Machine Learning, 2006, eq. 5.12, for groups). The study itself gets the weights of one unseen.
        """
        weighted, plain = (
            self.covariance(theta, self.weighted_grams(weights)),
            self.covariance(theta, self.grams),
        )
        inverse, unseen = np.linalg.inv(weighted), plain - weighted
        alpha = inverse @ self.residual
        error, log_sd = np.zeros(len(alpha)), np.zeros(len(alpha))
        for fold in np.unique(self.rows.fold):
            here = np.flatnonzero(self.rows.fold == fold)
            block = np.ix_(here, here)
            covariance = np.linalg.inv(inverse[block])
            error[here] = covariance @ alpha[here]
            log_sd[here] = np.sqrt(np.diag(covariance + unseen[block]))
        return error, log_sd

    def scale(self, theta: Array, weights: Weights) -> dict[str, float]:
        """Standardised errors of whole training folds left out, by scale_key and material; 1.0 where they are normal."""
        error, log_sd = self.left_out(theta, weights)
        wide, rows = np.abs(error) / log_sd / 1.645, self.rows
        z = np.abs(error) / log_sd
        found = {}
        for across in (False, True):
            for filler in (False, True):
                part = (rows.bars.across == across) & ((rows.filler != "") == filler)
                wanted = float(np.quantile(wide[part], 0.9)) if part.any() else 1.0
                found[scale_key(across, filler)] = min(max(wanted, 1.0), WIDEST)
                z[part] /= found[scale_key(across, filler)]
        return found | material_scales(rows.bars.material, rows.fold, z)


def _inverse(matrix: Array) -> tuple[Array, float]:
    """Inverse and log determinant of a positive definite matrix, by Cholesky's factor."""
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
