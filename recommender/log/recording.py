"""Writing to the log: prints, observations, amendments and voids. Nothing is ever deleted.

Every function is one transaction. An id is made by whoever writes, so a repeated write is recognised: the
same entry twice is one entry, and another entry under the same id is refused.
"""

from __future__ import annotations

import json
import secrets
import sqlite3
from collections.abc import Sequence
from contextlib import nullcontext
from typing import Any

from recommender.errors import InputError
from recommender.log import summary
from recommender.log.classes import lesson_of
from recommender.log.records import OBSERVATION_FIELDS, PRINT_FIELDS, Observation, Print
from recommender.log.store import now, writing

AMENDABLE = {
    "p": ("printer", "spool", "made_at", "part", "note"),
    "o": (
        "feature", "axis", "first_layer", "nominal_mm", "measured_mm", "load", "duration_s", "cycles",
        "hottest_c", "how", "place", "outcome", "amount", "words",
    ),
}  # fmt: skip
"""What may be amended: of a print, of an observation. Other settings mean another print."""


def add_print(connection: sqlite3.Connection, entry: Print) -> bool:
    """Enter a print; False where the very same entry is there already."""
    with writing(connection):
        return put_print(connection, entry)


def add_observations(connection: sqlite3.Connection, seen: Sequence[Observation]) -> int:
    """Enter observations, all or none; returns how many were new."""
    with writing(connection):
        return sum(put_observation(connection, observation) for observation in seen)


def put_print(connection: sqlite3.Connection, entry: Print) -> bool:
    """`add_print` inside a transaction of the caller's."""
    found = connection.execute("SELECT * FROM prints WHERE id = ?", (entry.id,)).fetchone()
    if found:
        _same_or_refused(entry.id, print_of(found) == entry)
        return False
    groups = groups_of(connection, entry)
    columns, values = (*PRINT_FIELDS, *groups), (*_print_values(entry), *groups.values())
    connection.execute(f"INSERT INTO prints ({', '.join(columns)}) VALUES ({_marks(columns)})", values)
    return True


def put_observation(connection: sqlite3.Connection, seen: Observation, count: bool = True) -> bool:
    """`add_observations` for one, inside a transaction of the caller's.

    `count` False leaves the counts to a `summary.rebuild` that the caller makes in the same transaction.
    """
    entry = find_print(connection, seen.print_id)
    found = connection.execute("SELECT * FROM observations WHERE id = ?", (seen.id,)).fetchone()
    if found:
        _same_or_refused(seen.id, observation_of(found) == seen)
        return False
    columns = (*OBSERVATION_FIELDS, *summary.LESSON_COLUMNS)
    values = (*_observation_values(seen), *summary.lesson_columns(lesson_of(entry, seen)))
    insert = f"INSERT INTO observations ({', '.join(columns)}) VALUES ({_marks(columns)})"
    with summary.kept_in_step(connection, seen.print_id) if count else nullcontext():
        connection.execute(insert, values)
    return True


def _same_or_refused(entry_id: str, same: bool) -> None:
    if not same:
        raise InputError(entry_id, "another entry has this id.", "Amend that entry, or use a fresh id.")


def _marks(columns: Sequence[str]) -> str:
    return ", ".join("?" * len(columns))


def _print_values(entry: Print) -> tuple[Any, ...]:
    return tuple(_plain(getattr(entry, name)) for name in PRINT_FIELDS)


def _observation_values(seen: Observation) -> tuple[Any, ...]:
    return tuple(_plain(getattr(seen, name)) for name in OBSERVATION_FIELDS)


def _plain(value: Any) -> Any:
    if isinstance(value, bool):
        return int(value)
    return json.dumps(value, sort_keys=True) if isinstance(value, dict) else value


def groups_of(connection: sqlite3.Connection, entry: Print) -> dict[str, int]:
    """Numbers of the two groups of `entry`: with its spool, and over all spools."""
    maker = (entry.source, entry.printer, entry.material)
    return {
        "group_id": _group(connection, (*maker, entry.spool)),
        "pool_id": _group(connection, (*maker, "")),
    }


def _group(connection: sqlite3.Connection, key: tuple[str, str, str, str]) -> int:
    """Number of the group (source, printer, material, spool), made where it is new."""
    query = "SELECT id FROM groups WHERE source = ? AND printer = ? AND material = ? AND spool = ?"
    found = connection.execute(query, key).fetchone()
    if found:
        return int(found[0])
    made = connection.execute(
        "INSERT INTO groups (source, printer, material, spool) VALUES (?, ?, ?, ?)", key
    )
    return int(made.lastrowid or 0)


def print_of(row: sqlite3.Row) -> Print:
    """The print that a row of the store holds."""
    fields = {name: row[name] for name in PRINT_FIELDS}
    fields.update({name: json.loads(fields[name]) for name in ("sheet", "settings", "states")})
    fields["voided"] = bool(fields["voided"])
    return Print(**fields)


def observation_of(row: sqlite3.Row) -> Observation:
    """The observation that a row of the store holds."""
    fields = {name: row[name] for name in OBSERVATION_FIELDS}
    for flag in ("voided", "first_layer", "nominal_assumed"):
        fields[flag] = bool(fields[flag])
    return Observation(**fields)


def find_id(connection: sqlite3.Connection, beginning: str) -> str:
    """The one entry whose id starts with `beginning`.

    Raises
    ------
    InputError
        No entry, or more than one, starts so.
    """
    table = "prints" if beginning.startswith("p") else "observations"
    query = f"SELECT id FROM {table} WHERE id >= ? AND id < ? ORDER BY id LIMIT 5"
    found = [row[0] for row in connection.execute(query, (beginning, beginning + "{"))]
    if beginning in found:
        return beginning
    if not found or len(beginning) < 2:
        raise InputError(beginning, "there is no such entry.", "`partduty log list` shows the entries.")
    if len(found) > 1:
        raise InputError(beginning, f"several entries start so: {', '.join(found)}.", "Write more letters.")
    return str(found[0])


def find_print(connection: sqlite3.Connection, print_id: str) -> Print:
    """The print with this id; InputError where there is none."""
    row = connection.execute("SELECT * FROM prints WHERE id = ?", (print_id,)).fetchone()
    if row is None:
        raise InputError(print_id, "there is no such print.", "`partduty log list` shows the prints.")
    return print_of(row)


def find_observation(connection: sqlite3.Connection, observation_id: str) -> Observation:
    """The observation with this id; InputError where there is none."""
    row = connection.execute("SELECT * FROM observations WHERE id = ?", (observation_id,)).fetchone()
    if row is None:
        raise InputError(observation_id, "there is no such entry.", "`partduty log show` lists them.")
    return observation_of(row)


def observations_of(connection: sqlite3.Connection, print_id: str) -> list[Observation]:
    """All observations of a print, voided ones too, in the order of entry."""
    rows = connection.execute("SELECT * FROM observations WHERE print_id = ? ORDER BY rowid", (print_id,))
    return [observation_of(row) for row in rows]


def amend(connection: sqlite3.Connection, entry_id: str, changes: dict[str, Any], reason: str) -> None:
    """Change fields of an entry; what stood there before stays in the history.

    Raises
    ------
    InputError
        There is no such entry, or a field that may not be amended.
    """
    allowed = AMENDABLE[entry_id[0]]
    for name in changes:
        if name not in allowed:
            raise InputError(
                name,
                "this cannot be amended.",
                f"Allowed: {', '.join(allowed)}. Else void it and enter anew.",
            )
    with writing(connection):
        if entry_id.startswith("p"):
            _amend_print(connection, entry_id, changes, reason)
        else:
            _amend_observation(connection, entry_id, changes, reason)


def _amend_print(connection: sqlite3.Connection, print_id: str, changes: dict[str, Any], reason: str) -> None:
    before = find_print(connection, print_id)
    after = Print(**{**before.model_dump(), **changes})
    with summary.kept_in_step(connection, print_id):
        _update(connection, "prints", print_id, {**changes, **groups_of(connection, after)})
    _remember(connection, print_id, "amended", before.model_dump(include=set(changes)), changes, reason)


def _amend_observation(
    connection: sqlite3.Connection, observation_id: str, changes: dict[str, Any], reason: str
) -> None:
    before = find_observation(connection, observation_id)
    entry = find_print(connection, before.print_id)
    if "nominal_mm" in changes:
        changes = {**changes, "nominal_assumed": False}
    after = with_multiple(entry, Observation(**{**before.model_dump(), **changes}))
    changes = {**changes, "multiple": after.multiple, "stress_mpa": after.stress_mpa}
    lesson = dict(zip(summary.LESSON_COLUMNS, summary.lesson_columns(lesson_of(entry, after)), strict=True))
    with summary.kept_in_step(connection, entry.id):
        _update(connection, "observations", observation_id, {**changes, **lesson})
    _remember(connection, observation_id, "amended", before.model_dump(include=set(changes)), changes, reason)


def with_multiple(entry: Print, seen: Observation) -> Observation:
    """`seen` with its load as a multiple of the predicted failure, and the computed stress at that load."""
    load = seen.load if seen.load is not None else entry.applied if seen.kind == "service" else None
    if load is None or entry.test_typical is None:
        return seen
    stress = entry.stress_mpa * load / entry.applied if entry.stress_mpa and entry.applied else None
    return seen.model_copy(update={"multiple": load / entry.test_typical, "stress_mpa": stress})


def void(connection: sqlite3.Connection, entry_id: str, reason: str, restore: bool = False) -> bool:
    """Take an entry out of all learning, or put it back; False where it was so already."""
    with writing(connection):
        is_print = entry_id.startswith("p")
        found = find_print(connection, entry_id) if is_print else find_observation(connection, entry_id)
        if found.voided is not restore:
            return False
        print_id = found.id if isinstance(found, Print) else found.print_id
        with summary.kept_in_step(connection, print_id):
            _update(connection, "prints" if is_print else "observations", entry_id, {"voided": not restore})
        action = "restored" if restore else "voided"
        _remember(connection, entry_id, action, {"voided": restore}, {"voided": not restore}, reason)
        return True


def _update(connection: sqlite3.Connection, table: str, entry_id: str, changes: dict[str, Any]) -> None:
    assignments = ", ".join(f"{name} = ?" for name in changes)
    values = [_plain(value) for value in changes.values()]
    connection.execute(f"UPDATE {table} SET {assignments} WHERE id = ?", (*values, entry_id))


def _remember(
    connection: sqlite3.Connection,
    entry_id: str,
    action: str,
    before: dict[str, Any],
    after: dict[str, Any],
    reason: str,
) -> None:
    texts = [json.dumps(part, sort_keys=True) for part in (before, after)]
    connection.execute(
        "INSERT INTO changes (id, at, entry, action, before, after, reason) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (secrets.token_hex(8), now(), entry_id, action, *texts, reason),
    )
