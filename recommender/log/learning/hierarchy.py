"""What other groups tell of one group: effects of the maker, printer, material, source and spool.

The log of a factor of a group is a sum of effects, each drawn around nought with its own standard deviation.
Every group with exact values is first boiled down to its middle and the variance of that; the effects follow
by least squares with these variances (Gelman and Hill, Data Analysis Using Regression and Multilevel/
Hierarchical Models, 2007, chapter 12: partial pooling), reweighted so that one odd group cannot lead.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.log.learning import heavy_tails
from recommender.log.learning.counts import Counts, Group, place_of

Array = NDArray[np.float64]
ROUNDS = 12


@dataclass(frozen=True, slots=True)
class Beliefs:
    """What is believed of a factor before any entry.

    `median` and `persistent_sd` (of its logarithm) describe the factor of one group; the shares say how much of
    that variance is common to the maker, the printer, the material, the pair, the spool. `scatter` is the
    scale of the log ratio from print to print and `foreign_sd` the offset of another maker's log.
    """

    median: float
    persistent_sd: float
    shares: dict[str, float]
    scatter: float
    foreign_sd: float

    def sd_of(self, level: str) -> float:
        """Standard deviation of the effects of one level, of the log factor."""
        if level == "source":
            return self.foreign_sd
        return self.persistent_sd * float(np.sqrt(self.shares.get(level, 0.0)))


@dataclass(frozen=True, slots=True)
class Middles:
    """Middle and its variance for each group that has exact values."""

    groups: tuple[Group, ...]
    middle: Array
    variance: Array


def effects_of(group: Group) -> tuple[tuple[str, Hashable], ...]:
    """The effects that add up in `group`, but for its spool: (level, which)."""
    effects: list[tuple[str, Hashable]] = [
        ("common", ""),
        ("material", group.material),
        ("printer", (group.source, group.printer)),
        ("pair", (group.source, group.printer, group.material)),
    ]
    if not group.is_own:
        effects.append(("source", group.source))
    return tuple(effects)


def middles_of(counts: Counts, scatter: float) -> Middles:
    """Robust middle of every group, by reweighting from its median."""
    exact = counts.exact()
    present, group = np.unique(exact.group, return_inverse=True)
    middle = _medians(group, exact.value, exact.count, len(present))
    for _ in range(ROUNDS):
        weights = exact.count * heavy_tails.weight(exact.value - middle[group], scatter, scatter)
        total = np.bincount(group, weights, len(present))
        middle = np.bincount(group, weights * exact.value, len(present)) / total
    sound = exact.count * heavy_tails.soundness(exact.value - middle[group], scatter, scatter)
    information = np.bincount(group, sound, len(present)) * heavy_tails.INFORMATION / scatter**2
    variance: Array = np.asarray(1.0 / np.maximum(information, 1e-9))
    return Middles(tuple(counts.groups[index] for index in present), middle, variance)


def _medians(group: NDArray[np.int64], value: Array, count: Array, size: int) -> Array:
    order = np.lexsort((value, group))
    group, value, count = group[order], value[order], count[order]
    total = np.bincount(group, count, size)
    before = np.cumsum(count) - np.concatenate([[0.0], np.cumsum(total)])[group]
    reached = before >= total[group] / 2
    result = np.zeros(size)
    first = np.unique(group[reached], return_index=True)[1]
    result[group[reached][first]] = value[reached][first]
    return result


@dataclass(frozen=True, slots=True)
class Pool:
    """The effects of all groups together, as normal equations, so that one group can be left out again.

    `design` has a row per group and a column per effect; `precision` and `drive` are the matrix and the
    right-hand side of the equations for the effects.
    """

    beliefs: Beliefs
    middles: Middles
    place: dict[tuple[str, Hashable], int]
    design: Array
    weights: Array
    wanted: Array
    precision: Array
    drive: Array
    rows: dict[Group, int]

    def expected(self, target: Group) -> tuple[float, float]:
        """Mean and variance of the log factor of `target`, from the other groups alone."""
        precision, drive = self.precision, self.drive
        row = self.rows.get(target)
        if row is not None:
            effects, weight = self.design[row], self.weights[row]
            precision = precision - weight * np.outer(effects, effects)
            drive = drive - weight * self.wanted[row] * effects
        picked, unknown = np.zeros(len(self.place)), self.beliefs.sd_of("spool") ** 2
        for effect in effects_of(target):
            if effect in self.place:
                picked[self.place[effect]] = 1.0
            else:
                unknown += self.beliefs.sd_of(effect[0]) ** 2
        spread = np.linalg.solve(precision, picked) if len(picked) else picked
        return float(np.log(self.beliefs.median) + spread @ drive), float(spread @ picked + unknown)


def pooled(middles: Middles, beliefs: Beliefs) -> Pool:
    """The effects of all groups, found by reweighted least squares."""
    effects = [[e for e in effects_of(group) if beliefs.sd_of(e[0]) > 0] for group in middles.groups]
    place = {name: index for index, name in enumerate(dict.fromkeys(e for some in effects for e in some))}
    design = np.zeros((len(effects), len(place)))
    for row, some in enumerate(effects):
        design[row, [place[effect] for effect in some]] = 1.0
    prior = np.diag([beliefs.sd_of(level) ** -2.0 for level, _ in place]) if place else np.zeros((0, 0))
    wanted = middles.middle - np.log(beliefs.median)
    scale = np.sqrt(middles.variance + beliefs.sd_of("spool") ** 2)
    mean = np.zeros(len(place))
    for _ in range(ROUNDS if place else 0):
        weights = _weights(wanted - design @ mean, scale)
        mean = np.linalg.solve(prior + design.T * weights @ design, design.T @ (weights * wanted))
    weights = _weights(wanted - design @ mean, scale)
    precision, drive = prior + design.T * weights @ design, design.T @ (weights * wanted)
    rows = place_of(middles.groups)
    return Pool(beliefs, middles, place, design, weights, wanted, precision, drive, rows)


def _weights(off: Array, scale: Array) -> Array:
    result: Array = np.minimum(heavy_tails.weight(off, scale, scale), 1.0) / scale**2
    return result
