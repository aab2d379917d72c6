"""Counts per class, kept in step with the rows in the same transaction, and recomputable from them.

The unit is the print: before a print or one of its observations changes, everything that the print adds is
taken out; afterwards it is added again. Counts are whole numbers, so nothing drifts.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from recommender.log.classes import Lesson, lesson_of
from recommender.log.records import Observation, Print

LESSONS = """
    SELECT o.topic, CASE WHEN o.topic IN ('held', 'broke', 'below') THEN p.group_id ELSE p.pool_id END AS group_id,
        o.class, o.nominal_class, o.value_class, 1 AS count
    FROM prints AS p JOIN observations AS o ON o.print_id = p.id
    WHERE p.voided = 0 AND o.voided = 0 AND o.topic IS NOT NULL {only}
    UNION ALL
    SELECT 'right', p.pool_id, p.geometry, 0, 1 - max(o.spoils), 1
    FROM prints AS p JOIN observations AS o ON o.print_id = p.id
    WHERE p.voided = 0 AND o.voided = 0 AND o.kind NOT IN ('service', 'note', 'photo') {only}
    GROUP BY p.id
"""
COUNTS = f"""
    SELECT topic, group_id, class, nominal_class, value_class, sum(count) AS count FROM ({LESSONS})
    GROUP BY topic, group_id, class, nominal_class, value_class
"""
KEY = "topic, group_id, class, nominal_class, value_class"


@contextmanager
def kept_in_step(connection: sqlite3.Connection, print_id: str) -> Iterator[None]:
    """Keep the counts right over a change to the print `print_id` or its observations."""
    _add(connection, print_id, -1)
    yield
    _add(connection, print_id, +1)


def _add(connection: sqlite3.Connection, print_id: str, sign: int) -> None:
    only = "AND p.id = :print_id"
    rows = connection.execute(COUNTS.format(only=only), {"print_id": print_id}).fetchall()
    for row in rows:
        _add_to_one(connection, tuple(row)[:5], sign * row["count"])


def _add_to_one(connection: sqlite3.Connection, key: tuple[object, ...], amount: int) -> None:
    where = "topic = ? AND group_id = ? AND class = ? AND nominal_class = ? AND value_class = ?"
    found = connection.execute(f"SELECT count FROM summary WHERE {where}", key).fetchone()
    count = (found[0] if found else 0) + amount
    if count <= 0:
        connection.execute(f"DELETE FROM summary WHERE {where}", key)
    elif found:
        connection.execute(f"UPDATE summary SET count = ? WHERE {where}", (count, *key))
    else:
        connection.execute(f"INSERT INTO summary ({KEY}, count) VALUES (?, ?, ?, ?, ?, ?)", (*key, count))


def rebuild(connection: sqlite3.Connection) -> None:
    """Compute every count anew from the rows; call inside a transaction."""
    connection.execute("DELETE FROM summary")
    connection.execute(f"INSERT INTO summary ({KEY}, count) {COUNTS.format(only='')}")


def out_of_step(connection: sqlite3.Connection) -> int:
    """How many counts differ from what the rows say."""
    fresh, kept = (
        {tuple(row) for row in connection.execute(query)}
        for query in (COUNTS.format(only=""), f"SELECT {KEY}, count FROM summary")
    )
    return len(fresh ^ kept)


def classify_all(connection: sqlite3.Connection) -> int:
    """Set topic and classes of every observation from the row itself; returns how many had been different."""
    changed = 0
    columns = "o.rowid AS row_number, o.*, p.applied, p.failure_typical, p.test_typical, p.mass_g, p.time_min, p.load_unit"
    joined = f"SELECT {columns} FROM observations AS o JOIN prints AS p ON p.id = o.print_id"
    for row in connection.execute(joined).fetchall():
        values = lesson_columns(_lesson_of_row(row))
        if values != tuple(row[name] for name in LESSON_COLUMNS):
            changed += 1
            connection.execute(
                f"UPDATE observations SET {', '.join(f'{name} = ?' for name in LESSON_COLUMNS)} "
                "WHERE rowid = ?",
                (*values, row["row_number"]),
            )
    return changed


LESSON_COLUMNS = ("topic", "class", "nominal_class", "value_class", "spoils")


def lesson_columns(lesson: Lesson) -> tuple[object, ...]:
    """A lesson as the columns that hold it."""
    return lesson.topic, lesson.kind, lesson.nominal, lesson.value, int(lesson.spoils)


def _lesson_of_row(row: sqlite3.Row) -> Lesson:
    names = ("applied", "failure_typical", "test_typical", "mass_g", "time_min", "load_unit")
    entry = Print.model_construct(**{name: row[name] for name in names})
    seen_names = (
        "kind",
        "feature",
        "axis",
        "nominal_mm",
        "measured_mm",
        "load",
        "outcome",
        "amount",
        "words",
    )
    seen = Observation.model_construct(
        first_layer=bool(row["first_layer"]), **{name: row[name] for name in seen_names}
    )
    return lesson_of(entry, seen)
