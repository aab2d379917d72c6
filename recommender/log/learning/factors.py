"""Factors on strength, time and mass: the posterior of one group on a grid.

The grid runs over the log factor and over the scale of the noise, so that both are learned; "held" and "broke
below" enter as bounds, not as values.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.learned import BELIEVED_MASS, BELIEVED_TIME
from recommender.log.learning import heavy_tails
from recommender.log.learning.counts import AT_LEAST, AT_MOST, EXACT, Counts, Group
from recommender.log.learning.hierarchy import Beliefs, Pool, middles_of, pooled

Array = NDArray[np.float64]

NINE_IN_TEN = 1.6449  # half width of 90 % of a normal distribution, in standard deviations
SCATTER_LOG_SD = 0.35  # how well the scale of a maker's noise is known; estimate
SCATTER_STEPS = np.exp(SCATTER_LOG_SD * np.linspace(-2.4, 2.4, 7))  # of the scale around what is believed
COARSE, FINE = 121, 161
FEW, MANY = 61, 30  # finer points where the posterior is of one hump, and entries from which it is
NEGLIGIBLE = 14.0  # log of the density below that of the peak beyond which nothing is looked at: 8e-7

STRENGTH = Beliefs(
    median=1.0, persistent_sd=0.20, scatter=0.090, foreign_sd=0.15,
    shares={"common": 0.15, "material": 0.25, "printer": 0.15, "pair": 0.10, "spool": 0.35},
)  # fmt: skip
TIME = Beliefs(
    median=BELIEVED_TIME.median, persistent_sd=0.123, scatter=0.045, foreign_sd=0.10,
    shares={"common": 0.30, "printer": 0.50, "material": 0.10, "pair": 0.10},
)  # fmt: skip
MASS = Beliefs(
    median=BELIEVED_MASS.median, persistent_sd=0.055, scatter=0.027, foreign_sd=0.05,
    shares={"common": 0.20, "printer": 0.40, "material": 0.30, "pair": 0.10},
)  # fmt: skip
"""Beliefs before any entry. Medians and spreads of time (1.0 to 1.5) and mass (1.0 to 1.2) are estimates from
anecdotes (grade C); the shares, scatters (0.9 of 10, 5 and 3 % from print to
print) and offsets of other makers' logs are estimates of ours."""

BELIEFS = {"strength": STRENGTH, "time": TIME, "mass": MASS}
TOPICS = {"strength": ("broke", "held", "below"), "time": ("time",), "mass": ("mass",)}


@dataclass(frozen=True, slots=True)
class Posterior:
    """A log factor: mean, standard deviation, bounds that hold 90 %, and the scale of the noise.

    `entries` counts the group's own entries and `outliers` those so far off that they hardly count.
    """

    mean: float
    sd: float
    low: float
    high: float
    scatter: float
    entries: int = 0
    outliers: int = 0

    @property
    def predictive_sd(self) -> float:
        """Standard deviation of the log ratio of the next print, slips apart."""
        return float(np.hypot(self.sd, spread_of(self.scatter)))


def spread_of(scatter: float) -> float:
    """Standard deviation of the normal noise that tells as much as noise of this scale."""
    return scatter / float(np.sqrt(heavy_tails.INFORMATION))


def believed(beliefs: Beliefs) -> Posterior:
    """The posterior before any entry."""
    return _normal(float(np.log(beliefs.median)), beliefs.persistent_sd**2, beliefs.scatter)


def _normal(mean: float, variance: float, scatter: float) -> Posterior:
    sd = float(np.sqrt(variance))
    return Posterior(mean, sd, mean - NINE_IN_TEN * sd, mean + NINE_IN_TEN * sd, scatter)


def pool_of(counts: Counts, beliefs: Beliefs) -> Pool:
    """The effects that all groups of `counts` share."""
    return pooled(middles_of(counts, beliefs.scatter), beliefs)


def posterior_of(target: Group, counts: Counts, beliefs: Beliefs, pool: Pool | None = None) -> Posterior:
    """Posterior of the log factor of `target` given all `counts`."""
    mean, variance = (pool or pool_of(counts, beliefs)).expected(target)
    index = counts.index_of(target)
    if index is None:
        return _normal(mean, variance, beliefs.scatter)
    return on_grid(counts.of_group(index), mean, variance, beliefs.scatter)


def on_grid(own: Counts, mean: float, variance: float, scatter: float) -> Posterior:
    """Posterior from the entries of one group and what is expected of it.

    Twice: over all that is possible, and then finely over what is not negligible, for a bound read between
    coarse steps lies too far out.
    """
    factor, steps = _grid(own, mean, variance, scatter), SCATTER_STEPS
    score = _score(own, factor, steps, mean, variance, scatter)
    factor = _closer(factor, score.max(axis=1), FEW if own.count.sum() > MANY else FINE)
    steps = steps[score.max(axis=0) > score.max() - 2 * NEGLIGIBLE]
    score = _score(own, factor, steps, mean, variance, scatter)
    mass = np.exp(score - score.max())
    mass /= mass.sum()
    return _described(factor, scatter * steps, mass, own)


def _closer(factor: Array, score: Array, points: int) -> Array:
    """A grid over the stretch of `factor` that is not negligible."""
    kept = np.flatnonzero(score > score.max() - NEGLIGIBLE)
    first, last = max(kept[0] - 1, 0), min(kept[-1] + 1, len(factor) - 1)
    return np.linspace(factor[first], factor[last], points)


def _score(own: Counts, factor: Array, steps: Array, mean: float, variance: float, scatter: float) -> Array:
    """Log of the posterior but for a constant, by factor and scale of the noise (`steps` of what is believed)."""
    score = -((factor - mean) ** 2)[:, None] / (2 * variance)
    score = score - np.log(steps)[None, :] ** 2 / (2 * SCATTER_LOG_SD**2)
    return np.asarray(score + _log_likelihood(own, factor, steps, scatter))


def _log_likelihood(own: Counts, factor: Array, steps: Array, scatter: float) -> Array:
    total = np.zeros((len(factor), len(steps)))
    for kind in (EXACT, AT_LEAST, AT_MOST):
        rows = own.kind == kind
        if rows.any():
            off = own.value[rows][:, None, None] - factor[None, :, None]
            total += np.tensordot(own.count[rows], _log_terms(kind, off, scatter * steps, scatter), axes=1)
    return total


def _log_terms(kind: int, off: Array, scale: Array, scatter: float) -> Array:
    """Log likelihood of one entry of each class, by class, factor and scale."""
    if kind == EXACT:
        return heavy_tails.log_density(off, scale, scatter)
    if kind == AT_LEAST:  # held at v: the strength, factor plus noise, exceeds v
        return heavy_tails.log_probability_above(off, scale, scatter)
    return heavy_tails.log_probability_below(off, scale)


def _grid(own: Counts, mean: float, variance: float, scatter: float) -> Array:
    """A coarse grid over all that is possible."""
    sd = np.sqrt(variance)
    low, high = mean - 5 * sd, mean + 5 * sd
    if not (own.kind == EXACT).any():
        return np.linspace(low, high, COARSE)
    middles = middles_of(own, scatter)
    middle, spread = float(middles.middle[0]), float(np.sqrt(middles.variance[0]))
    if own.count.sum() > MANY:
        spread *= 3.0  # the noise may be up to 2.3 times what is believed
        both = 1 / (1 / variance + 1 / spread**2)
        centre = both * (mean / variance + middle / spread**2)
        return np.linspace(centre - 5 * np.sqrt(both), centre + 5 * np.sqrt(both), FEW // 2)
    return np.linspace(min(low, middle - 4 * spread), max(high, middle + 4 * spread), COARSE)


def _described(factor: Array, scale: Array, mass: Array, own: Counts) -> Posterior:
    along = mass.sum(axis=1)
    mean = float(factor @ along)
    scatter = float(scale @ mass.sum(axis=0))
    wild = (own.kind == EXACT) & (np.abs(own.value - mean) > heavy_tails.OUTLIER_AT * scatter)
    return Posterior(
        mean=mean,
        sd=float(np.sqrt(max((factor - mean) ** 2 @ along, 1e-12))),
        low=_quantile(factor, along, 0.05),
        high=_quantile(factor, along, 0.95),
        scatter=scatter,
        entries=int(own.count.sum()),
        outliers=int(own.count[wild].sum()),
    )


def _quantile(factor: Array, density: Array, share: float) -> float:
    """Where `share` of the mass lies below, the density taken as straight between the points of the grid."""
    cells = (density[1:] + density[:-1]) / 2
    below = np.concatenate([[0.0], np.cumsum(cells)])
    cell = min(int(np.searchsorted(below, share * below[-1], side="right")), len(cells)) - 1
    left, rise = density[cell], density[cell + 1] - density[cell]
    rest = share * below[-1] - below[cell]
    step = 2 * rest / (left + np.sqrt(max(left * left + 2 * rise * rest, 0.0)))
    return float(factor[cell] + step * (factor[1] - factor[0]))
