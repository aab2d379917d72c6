"""Probability that a print comes out right the first time: beta-binomial, shrunk level by level.

It starts from what the engine expected of such prints (by plastic, warp, supports, slenderness). All of the
maker's prints tell how many more or fewer fail than expected; this printer and material, and this kind and size
of part, start from that as if STRENGTH_OF_PRIOR prints of it had been seen.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

from recommender.log.learning.counts import OWN

PRIOR_CHANCE = 0.90  # where no expectation was kept with the prints; estimate (grade C)
RECENT = 20  # prints whose expectation is read
MOST_WRONG = 0.95  # what is expected to fail stays below one
STRENGTH_OF_PRIOR = 4.0  # prints; estimate
FOREIGN_WEIGHT = 0.25  # a print in another maker's log counts as a quarter of one's own; estimate


@dataclass(frozen=True, slots=True)
class Tally:
    """Prints that came out right and prints in all, by what they were; and the chance expected of them."""

    is_own: bool
    printer: str
    material: str
    geometry: str
    right: float
    tried: float
    expected: float = PRIOR_CHANCE


@dataclass(frozen=True, slots=True)
class Chance:
    """Parameters of a beta distribution of the chance, and the own prints in the last level that had any."""

    right: float
    wrong: float
    tried: int

    @property
    def mean(self) -> float:
        """Expected chance that the next print comes out right."""
        return self.right / (self.right + self.wrong)

    def bounds(self) -> tuple[float, float]:
        """Bounds that hold the chance with 90 %."""
        from scipy.special import betaincinv

        return (
            float(betaincinv(self.right, self.wrong, 0.05)),
            float(betaincinv(self.right, self.wrong, 0.95)),
        )


def read_tallies(connection: sqlite3.Connection) -> list[Tally]:
    """All counts of print success."""
    rows = connection.execute(
        "SELECT g.id, g.source, g.printer, g.material, s.class, sum(s.count * s.value_class), sum(s.count) "
        "FROM summary AS s JOIN groups AS g ON g.id = s.group_id WHERE s.topic = 'right' "
        "GROUP BY g.id, g.source, g.printer, g.material, s.class"
    ).fetchall()
    expected = {number: _expected(connection, number) for number in {row[0] for row in rows}}
    return [
        Tally(source == OWN, printer, material, kind, right, tried, expected[number])
        for number, source, printer, material, kind, right, tried in map(tuple, rows)
    ]


def _expected(connection: sqlite3.Connection, pool: int) -> float:
    """Chance the engine expected of the latest prints of one printer and material, before anything learned."""
    (mean,) = connection.execute(
        "SELECT avg(first_time_right) FROM (SELECT first_time_right, voided FROM prints WHERE pool_id = ? "
        "ORDER BY made_at DESC LIMIT ?) WHERE voided = 0",
        (pool, RECENT),
    ).fetchone()
    return PRIOR_CHANCE if mean is None else float(mean)


def chance_of(tallies: Iterable[Tally], printer: str, material: str, geometry: str) -> Chance:
    """Chance that a print of this kind comes out right the first time."""
    tallies = list(tallies)
    here = [t for t in tallies if t.printer == printer and t.material == material and t.is_own]
    wrong = 1 - next((t.expected for t in here), PRIOR_CHANCE)
    wrong = min(wrong * _more_than_expected(tallies, wrong), MOST_WRONG)
    chance = Chance((1 - wrong) * STRENGTH_OF_PRIOR, wrong * STRENGTH_OF_PRIOR, 0)
    for level in (here, [t for t in here if t.geometry == geometry]):
        chance = _shrunk(level, chance)
    return chance


def _more_than_expected(tallies: list[Tally], expected_wrong: float) -> float:
    """How many times as many of all prints failed as were expected to (gamma-Poisson, starting from once)."""
    failed = expected = STRENGTH_OF_PRIOR * expected_wrong
    for tally in tallies:
        weight = 1.0 if tally.is_own else FOREIGN_WEIGHT
        failed += weight * (tally.tried - tally.right)
        expected += weight * tally.tried * (1 - tally.expected)
    return failed / expected if expected > 0 else 1.0


def _shrunk(level: list[Tally], above: Chance) -> Chance:
    weights = [1.0 if tally.is_own else FOREIGN_WEIGHT for tally in level]
    right = sum(w * tally.right for w, tally in zip(weights, level, strict=True))
    wrong = sum(w * (tally.tried - tally.right) for w, tally in zip(weights, level, strict=True))
    tried = int(sum(tally.tried for tally in level if tally.is_own))
    start = above.mean
    return Chance(
        right + STRENGTH_OF_PRIOR * start, wrong + STRENGTH_OF_PRIOR * (1 - start), tried or above.tried
    )
