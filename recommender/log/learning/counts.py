"""The counts per class of one topic, read from the log as columns."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.log.classes import LOG_RATIO_STEP

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

EXACT, AT_LEAST, AT_MOST = 0, 1, 2
KIND_OF_TOPIC = {"broke": EXACT, "held": AT_LEAST, "below": AT_MOST, "time": EXACT, "mass": EXACT}
OWN = "own"


@dataclass(frozen=True, slots=True)
class Group:
    """Entries of one source, printer, material and spool ("" where the spool does not matter)."""

    source: str
    printer: str
    material: str
    spool: str = ""

    @property
    def is_own(self) -> bool:
        """Whether these are the maker's own entries."""
        return self.source == OWN


@dataclass(frozen=True, slots=True)
class Counts:
    """Log ratios (observed over predicted) by group: one row per class, `count` entries in each.

    `group` indexes `groups`; `kind` says whether the value is exact, a lower or an upper bound.
    """

    groups: tuple[Group, ...]
    group: Indices
    value: Array
    count: Array
    kind: Indices

    def of_group(self, index: int) -> Counts:
        """Only the rows of one group."""
        mine = self.group == index
        return Counts(self.groups, self.group[mine], self.value[mine], self.count[mine], self.kind[mine])

    def exact(self) -> Counts:
        """Only the rows whose value is exact."""
        mine = self.kind == EXACT
        return Counts(self.groups, self.group[mine], self.value[mine], self.count[mine], self.kind[mine])

    def index_of(self, group: Group) -> int | None:
        """Where `group` stands among the groups."""
        return self.groups.index(group) if group in self.groups else None


def read_counts(connection: sqlite3.Connection, topics: tuple[str, ...]) -> Counts:
    """Counts of log ratios of the `topics`, over all groups."""
    marks = ", ".join("?" * len(topics))
    rows = connection.execute(
        f"SELECT topic, group_id, value_class, count FROM summary WHERE topic IN ({marks})", topics
    ).fetchall()
    numbers = sorted({row[1] for row in rows})
    position = {number: index for index, number in enumerate(numbers)}
    table = np.array([(position[r[1]], r[2], r[3], KIND_OF_TOPIC[r[0]]) for r in rows], dtype=np.int64)
    table = table.reshape(-1, 4)
    return Counts(
        groups=groups_by_number(connection, numbers),
        group=table[:, 0],
        value=table[:, 1].astype(float) * LOG_RATIO_STEP,
        count=table[:, 2].astype(float),
        kind=table[:, 3],
    )


def groups_by_number(connection: sqlite3.Connection, numbers: list[int]) -> tuple[Group, ...]:
    """The groups with these numbers, in that order."""
    rows = {
        row[0]: row for row in connection.execute("SELECT id, source, printer, material, spool FROM groups")
    }
    return tuple(Group(*tuple(rows[number])[1:]) for number in numbers)


def counts_from(entries: list[tuple[Group, float, int]]) -> Counts:
    """Counts made of single values: (group, log ratio, kind)."""
    groups = tuple(dict.fromkeys(group for group, _, _ in entries))
    return Counts(
        groups,
        np.array([groups.index(group) for group, _, _ in entries], dtype=np.int64),
        np.array([value for _, value, _ in entries], dtype=float),
        np.ones(len(entries)),
        np.array([kind for _, _, kind in entries], dtype=np.int64),
    )
