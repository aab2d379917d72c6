"""The counts per class of one topic, read from the log as columns."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from recommender.log.steps import LOG_RATIO_STEP

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
    place: dict[Group, int] = field(default_factory=dict, repr=False)

    def of_group(self, index: int) -> Counts:
        """Only the rows of one group."""
        mine = self.group == index
        return Counts(
            self.groups, self.group[mine], self.value[mine], self.count[mine], self.kind[mine], self.place
        )

    def exact(self) -> Counts:
        """Only the rows whose value is exact."""
        mine = self.kind == EXACT
        return Counts(
            self.groups, self.group[mine], self.value[mine], self.count[mine], self.kind[mine], self.place
        )

    def index_of(self, group: Group) -> int | None:
        """Where `group` stands among the groups."""
        return self.place.get(group)


def read_counts(
    connection: sqlite3.Connection, topics: tuple[str, ...], printer: str | None = None
) -> Counts:
    """Counts of log ratios of the `topics`, over all groups.

    Bounds ("held") tell only of their own group, so with `printer` those of its own groups alone are read.
    """
    rows = [_rows_of(connection, topic, printer) for topic in topics]
    table = np.concatenate(rows) if rows else np.zeros((0, 4), dtype=np.int64)
    numbers, group = np.unique(table[:, 0], return_inverse=True)
    groups = groups_by_number(connection, [int(number) for number in numbers])
    return Counts(
        groups=groups,
        group=group.astype(np.int64),
        value=table[:, 1].astype(float) * LOG_RATIO_STEP,
        count=table[:, 2].astype(float),
        kind=table[:, 3],
        place=place_of(groups),
    )


def place_of(groups: tuple[Group, ...]) -> dict[Group, int]:
    """Where each group stands."""
    return {group: index for index, group in enumerate(groups)}


def _rows_of(connection: sqlite3.Connection, topic: str, printer: str | None) -> Indices:
    """Rows of one topic: group number, value in steps, count, kind.

    Numbers come as one text per group, three times quicker to read than row by row.
    """
    where, values = "topic = ?", [topic]
    if printer is not None and KIND_OF_TOPIC[topic] != EXACT:
        where += " AND group_id IN (SELECT id FROM groups WHERE source = 'own' AND printer = ?)"
        values.append(printer)
    query = "SELECT group_id, count(*), group_concat(value_class || ',' || count) FROM summary"
    rows = connection.execute(f"{query} WHERE {where} GROUP BY group_id", values).fetchall()
    pairs = np.fromstring(",".join(row[2] for row in rows), dtype=np.int64, sep=",").reshape(-1, 2)
    group = np.repeat([row[0] for row in rows], [row[1] for row in rows]).astype(np.int64)
    return np.column_stack([group, pairs, np.full(len(pairs), KIND_OF_TOPIC[topic])])


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
        place_of(groups),
    )
