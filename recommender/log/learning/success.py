"""Probability that a print comes out right the first time: beta-binomial, shrunk level by level.

From all of the maker's prints, to this printer and material, to this kind and size of part: each level starts
from the one above as if it had seen STRENGTH_OF_PRIOR prints of it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

from recommender.log.learning.counts import OWN

PRIOR_CHANCE = 0.90  # estimate: a maker with some practice; a university studio saw 0.59 (source below)
"""Before any entry. An open studio of a university had 41 % of its prints fail, a quarter by human error; that
is a novice setting and the lower figure (grade B), so the prior is an estimate of ours (grade C)."""
STRENGTH_OF_PRIOR = 4.0  # prints; estimate
FOREIGN_WEIGHT = 0.25  # a print in another maker's log counts as a quarter of one's own; estimate


@dataclass(frozen=True, slots=True)
class Tally:
    """Prints that came out right and prints in all, by what they were."""

    is_own: bool
    printer: str
    material: str
    geometry: str
    right: float
    tried: float


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
        "SELECT g.source, g.printer, g.material, s.class, sum(s.count * s.value_class), sum(s.count) "
        "FROM summary AS s JOIN groups AS g ON g.id = s.group_id WHERE s.topic = 'right' "
        "GROUP BY g.source, g.printer, g.material, s.class"
    )
    return [Tally(row[0] == OWN, *tuple(row)[1:]) for row in rows]


def chance_of(tallies: Iterable[Tally], printer: str, material: str, geometry: str) -> Chance:
    """Chance that a print of this kind comes out right the first time."""
    tallies = list(tallies)
    here = [t for t in tallies if t.printer == printer and t.material == material and t.is_own]
    levels = [tallies, here, [t for t in here if t.geometry == geometry]]
    chance = Chance(PRIOR_CHANCE * STRENGTH_OF_PRIOR, (1 - PRIOR_CHANCE) * STRENGTH_OF_PRIOR, 0)
    for level in levels:
        chance = _shrunk(level, chance)
    return chance


def _shrunk(level: list[Tally], above: Chance) -> Chance:
    weights = [1.0 if tally.is_own else FOREIGN_WEIGHT for tally in level]
    right = sum(w * tally.right for w, tally in zip(weights, level, strict=True))
    wrong = sum(w * (tally.tried - tally.right) for w, tally in zip(weights, level, strict=True))
    tried = int(sum(tally.tried for tally in level if tally.is_own))
    start = above.mean
    return Chance(
        right + STRENGTH_OF_PRIOR * start, wrong + STRENGTH_OF_PRIOR * (1 - start), tried or above.tried
    )
