"""Statistics of few numbers: intervals of a mean, a straight line, and groups that borrow from their kin.

Every interval is two-sided at 90 %. NumPy only, so that a record can be refitted without SciPy.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Vector = NDArray[np.float64]

Z90 = 1.6449  # 95th percentile of the normal distribution
# 95th percentile of Student's t for 1 to 20 degrees of freedom (Montgomery, Design and Analysis of
# Experiments, 8th ed., 2013, table II).
T90 = (
    *(6.314, 2.920, 2.353, 2.132, 2.015, 1.943, 1.895, 1.860, 1.833, 1.812),
    *(1.796, 1.782, 1.771, 1.761, 1.753, 1.746, 1.740, 1.734, 1.729, 1.725),
)


def t90(degrees_of_freedom: int) -> float:
    """Half width of a 90 % interval in standard errors: Student's t.

    Tabulated to 20 degrees of freedom, then the expansion of Abramowitz and Stegun, Handbook of Mathematical
    Functions, 1964, 26.7.5, to its second term.
    """
    if degrees_of_freedom < 1:
        return float("nan")
    if degrees_of_freedom <= len(T90):
        return T90[degrees_of_freedom - 1]
    z, freedom = Z90, degrees_of_freedom
    return z + (z**3 + z) / (4 * freedom) + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom**2)


@dataclass(frozen=True)
class Spread:
    """A value with its 90 % interval; the limits are NaN where one number alone gives no spread."""

    value: float
    low: float
    high: float
    count: int


def geometric_mean(values: ArrayLike) -> Spread:
    """Geometric mean of positive numbers with the interval of that mean (Student, on logarithms)."""
    logs = np.log(np.asarray(values, dtype=float))
    count = len(logs)
    if count == 1:
        return Spread(float(np.exp(logs[0])), float("nan"), float("nan"), 1)
    half = t90(count - 1) * logs.std(ddof=1) / np.sqrt(count)
    middle = logs.mean()
    return Spread(float(np.exp(middle)), float(np.exp(middle - half)), float(np.exp(middle + half)), count)


def next_value(values: ArrayLike) -> Spread:
    """Geometric mean of positive numbers with the interval in which one further number is expected."""
    logs = np.log(np.asarray(values, dtype=float))
    count = len(logs)
    half = t90(count - 1) * logs.std(ddof=1) * np.sqrt(1 + 1 / count) if count > 1 else float("nan")
    middle = logs.mean()
    return Spread(float(np.exp(middle)), float(np.exp(middle - half)), float(np.exp(middle + half)), count)


def pooled_scatter(groups: Sequence[Vector]) -> Spread:
    """Standard deviation within groups of two or more numbers, pooled; the interval takes log s as normal.

    The standard error of log s is 1 / sqrt(2 df): Kendall and Stuart, The Advanced Theory of Statistics,
    vol. 1, 4th ed., 1977, section 10.
    """
    useful = [group for group in groups if len(group) > 1]
    freedom = sum(len(group) - 1 for group in useful)
    squares = sum(float(((group - group.mean()) ** 2).sum()) for group in useful)
    sd = float(np.sqrt(squares / freedom))
    factor = float(np.exp(Z90 / np.sqrt(2 * freedom)))
    return Spread(sd, sd / factor, sd * factor, sum(len(group) for group in useful))


@dataclass(frozen=True)
class Line:
    """Least-squares line y = intercept + slope x with the covariance of both and the scatter about it."""

    intercept: float
    slope: float
    covariance: tuple[tuple[float, float], tuple[float, float]]
    residual_sd: float
    count: int

    def at(self, x: float) -> Spread:
        """The mean at `x` with its 90 % interval."""
        point = np.array([1.0, x])
        half = t90(self.count - 2) * float(np.sqrt(point @ np.array(self.covariance) @ point))
        middle = self.intercept + self.slope * x
        return Spread(middle, middle - half, middle + half, self.count)

    def slope_interval(self) -> Spread:
        """The slope with its 90 % interval."""
        half = t90(self.count - 2) * float(np.sqrt(self.covariance[1][1]))
        return Spread(self.slope, self.slope - half, self.slope + half, self.count)


def straight_line(x: ArrayLike, y: ArrayLike) -> Line:
    """Ordinary least squares of three or more points.

    Source: Draper and Smith, Applied Regression Analysis, 3rd ed., 1998, section 1.4 and 5.1.
    """
    design = np.column_stack([np.ones(len(np.asarray(x))), np.asarray(x, dtype=float)])
    target = np.asarray(y, dtype=float)
    if len(target) < 3:
        raise ValueError("straight_line needs at least three points.")
    inverse = np.linalg.inv(design.T @ design)
    coefficients = inverse @ design.T @ target
    residual = target - design @ coefficients
    variance = float(residual @ residual) / (len(target) - 2)
    covariance = variance * inverse
    return Line(
        float(coefficients[0]),
        float(coefficients[1]),
        (
            (float(covariance[0, 0]), float(covariance[0, 1])),
            (float(covariance[1, 0]), float(covariance[1, 1])),
        ),
        float(np.sqrt(variance)),
        len(target),
    )


@dataclass(frozen=True)
class Kin:
    """Means of groups drawn towards the mean of their class, and what to expect of a group not seen.

    Attributes
    ----------
    mean, variance : dict
        Posterior mean and variance per group (class, name).
    class_mean, class_variance : dict
        The same for a group of the class that has no numbers of its own (spread between groups included).
    within, between : float
        Standard deviation within groups and between the groups of a class.
    """

    mean: Mapping[tuple[str, str], float]
    variance: Mapping[tuple[str, str], float]
    class_mean: Mapping[str, float]
    class_variance: Mapping[str, float]
    within: float
    between: float


def kin(groups: Mapping[tuple[str, str], Vector]) -> Kin:
    """Empirical-Bayes means of groups keyed (class, name): a thin group borrows from its class.

    Within-group variance s2 is pooled; the variance between the groups of a class, t2, solves
    sum w (mean - class mean)^2 = groups - classes with w = 1 / (t2 + s2 / n)  (Paule and Mandel, J. Res.
    NBS 87, 1982, 377). A group's mean is drawn to its class by B = t2 / (t2 + s2 / n).
    """
    within = pooled_scatter(list(groups.values())).value
    means = {key: float(values.mean()) for key, values in groups.items()}
    noise = {key: within**2 / len(values) for key, values in groups.items()}
    classes = sorted({key[0] for key in groups})
    between2 = _between(means, noise, classes)
    centre, centre_variance = _centres(means, noise, classes, between2)
    mean, variance = {}, {}
    for key in groups:
        own = between2 / (between2 + noise[key]) if between2 > 0 else 0.0
        mean[key] = own * means[key] + (1 - own) * centre[key[0]]
        variance[key] = own * noise[key] + (1 - own) ** 2 * centre_variance[key[0]]
    unseen = {name: centre_variance[name] + between2 for name in classes}
    return Kin(mean, variance, centre, unseen, within, float(np.sqrt(between2)))


Means = Mapping[tuple[str, str], float]


def _centres(
    means: Means, noise: Means, classes: Sequence[str], between2: float
) -> tuple[dict[str, float], dict[str, float]]:
    centre, variance = {}, {}
    for name in classes:
        keys = [key for key in means if key[0] == name]
        weight = np.array([1 / (between2 + noise[key]) for key in keys])
        centre[name] = float(weight @ np.array([means[key] for key in keys]) / weight.sum())
        variance[name] = float(1 / weight.sum())
    return centre, variance


def _between(means: Means, noise: Means, classes: Sequence[str]) -> float:
    freedom = len(means) - len(classes)

    def excess(between2: float) -> float:
        centre, _ = _centres(means, noise, classes, between2)
        return sum((means[k] - centre[k[0]]) ** 2 / (between2 + noise[k]) for k in means) - freedom

    if freedom < 1 or excess(0.0) <= 0:
        return 0.0
    low, high = 0.0, 1.0
    while excess(high) > 0:
        high *= 2
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if excess(middle) > 0 else (low, middle)
    return (low + high) / 2
