"""Sending the log to a file and taking logs in: JSON with everything, CSV as one table for a spreadsheet.

Taking in is all or nothing, and the same file twice changes nothing. A log of someone else comes in under its
own source, so that its offset is learned apart from ours.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from recommender.errors import InputError
from recommender.log import recording, summary
from recommender.log.records import OBSERVATION_FIELDS, PRINT_FIELDS, Observation, Print, first_refusal
from recommender.log.store import writing

FORMAT = 1
LARGEST_FILE = 1_000_000_000  # bytes
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "%")
COLUMNS = ("record", *dict.fromkeys((*PRINT_FIELDS, *OBSERVATION_FIELDS)))
CHANGE_FIELDS = ("id", "at", "entry", "action", "before", "after", "reason")
MANY = 2_000  # entries above which the counts are computed anew once instead of after every entry
FREE_TEXT = {"part": "", "sheet": {}, "note": "", "knowledge_version": "", "model_version": ""}


@dataclass(frozen=True, slots=True)
class Refusal:
    """One record that was not taken in: where it stands, the field, and why."""

    where: str
    field: str
    why: str


@dataclass(slots=True)
class Intake:
    """What a file holds, and what came of it."""

    prints: list[Print] = field(default_factory=list)
    observations: list[Observation] = field(default_factory=list)
    changes: list[dict[str, str]] = field(default_factory=list)
    refused: list[Refusal] = field(default_factory=list)
    log_id: str = ""
    is_spreadsheet: bool = False
    added: int = 0
    already_here: int = 0


# Sending


def exported(connection: sqlite3.Connection, anonymous: bool = False) -> dict[str, Any]:
    """The whole log as plain mappings; `anonymous` drops free text, paths and names."""
    log_id = str(connection.execute("SELECT log_id FROM store").fetchone()[0])
    prints = [recording.print_of(row) for row in connection.execute("SELECT * FROM prints ORDER BY rowid")]
    rows = connection.execute("SELECT * FROM observations ORDER BY rowid")
    seen = [recording.observation_of(row) for row in rows]
    changes = [
        {name: row[name] for name in CHANGE_FIELDS}
        for row in connection.execute("SELECT * FROM changes ORDER BY rowid")
    ]
    if anonymous:
        prints = [_nameless_print(entry, log_id) for entry in prints]
        seen = [_wordless(observation) for observation in seen if observation.kind not in ("note", "photo")]
        changes = []
        log_id = _veiled("log", log_id, log_id)
    return {
        "partduty_log": FORMAT,
        "log_id": log_id,
        "prints": [entry.model_dump() for entry in prints],
        "observations": [observation.model_dump() for observation in seen],
        "changes": changes,
    }


def _veiled(kind: str, name: str, log_id: str) -> str:
    """A stand-in for a name: always the same for one log, and not to be turned back without that log."""
    return f"{kind} {hashlib.sha256(f'{log_id}|{kind}|{name}'.encode()).hexdigest()[:10]}" if name else ""


def _nameless_print(entry: Print, log_id: str) -> Print:
    names = {kind: _veiled(kind, getattr(entry, kind), log_id) for kind in ("printer", "spool")}
    source = entry.source if entry.source == "own" else _veiled("log", entry.source, log_id)
    settings = {key: value for key, value in entry.settings.items() if isinstance(value, int | float)}
    return entry.model_copy(update={**FREE_TEXT, **names, "source": source, "settings": settings})


def _wordless(seen: Observation) -> Observation:
    kept = seen.words if seen.kind == "event" else ""
    from recommender.log.grammar import PLACES

    places = [place for place in (seen.place or "").split(", ") if place in PLACES]
    return seen.model_copy(update={"words": kept, "place": ", ".join(places) or None})


def as_json(content: dict[str, Any]) -> str:
    """`exported` as JSON text."""
    return json.dumps(content, ensure_ascii=False, indent=1) + "\n"


def as_csv(content: dict[str, Any]) -> str:
    """`exported` as one CSV table, safe to open in a spreadsheet; the history of changes is left out."""
    text = io.StringIO(newline="")
    table = csv.writer(text, lineterminator="\r\n")
    table.writerow(COLUMNS)
    table.writerow(_cells({"record": "log", "id": content["log_id"]}))
    for kind in ("print", "observation"):
        for record in content[f"{kind}s"]:
            table.writerow(_cells({"record": kind, **record}))
    return text.getvalue()


def _cells(record: dict[str, Any]) -> list[str]:
    return [_cell(record.get(column)) for column in COLUMNS]


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(int(value))
    if isinstance(value, int | float):
        return repr(value)
    return guarded(
        json.dumps(value, ensure_ascii=False, sort_keys=True) if isinstance(value, dict) else value
    )


def guarded(text: str) -> str:
    """`text` such that no spreadsheet takes it for a formula: an apostrophe goes in front where needed."""
    return f"'{text}" if text.lstrip().startswith((*FORMULA_STARTS, "'")) or text[:1].isspace() else text


def unguarded(text: str) -> str:
    """The text that `guarded` was given."""
    return text[1:] if text.startswith("'") else text


# Taking in


def read_log_file(path: Path) -> Intake:
    """Everything in the log file at `path`, checked; faults of single records are listed, not raised.

    Raises
    ------
    InputError
        The file as a whole cannot be read.
    """
    text = _text_of(path)
    if path.suffix.lower() == ".csv":
        intake, records = Intake(is_spreadsheet=True), _csv_records(text, path.name)
    else:
        intake, records = _json_records(text, path.name)
    _check_all(intake, records)
    _refuse_clashes(intake)
    return intake


def _text_of(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise InputError(path.name, "the file is larger than 1 GB.", "Split it.")
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            path.name, f"byte {error.start} is not UTF-8 text.", "Save the file as UTF-8 and try again."
        ) from None
    except (OSError, ValueError) as error:
        raise InputError(
            str(path)[:200], f"the file cannot be read ({error}).", "Check name and rights."
        ) from None


Located = tuple[str, str, dict[str, Any]]


def _csv_records(text: str, name: str) -> Iterator[Located]:
    table = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    try:
        header = [column or "" for column in table.fieldnames or []]
        unknown = [column for column in header if column not in COLUMNS]
        if "record" not in header or unknown or len(set(header)) != len(header):
            told = (
                f"columns not known or doubled: {', '.join(unknown)[:100]}"
                if unknown
                else "no column `record`"
            )
            raise InputError(
                name, f"this is not a log in CSV ({told}).", "`partduty log export` shows the columns."
            )
        for row in table:
            where = f"line {table.line_num}"
            yield where, *_csv_record(row)
    except csv.Error as error:
        raise InputError(name, f"line {table.line_num}: not CSV ({error}).", "Check the quotes.") from None


def _csv_record(row: dict[Any, Any]) -> tuple[str, dict[str, Any]]:
    if None in row or None in row.values():
        return "uneven", {}
    kind = row["record"]
    names = {"print": PRINT_FIELDS, "observation": OBSERVATION_FIELDS, "log": ("id",)}.get(kind, ())
    stray = [column for column, cell in row.items() if cell and column != "record" and column not in names]
    if names and stray:
        return "stray", {"column": stray[0]}
    return kind, {column: cell for column, cell in row.items() if cell and column in names}


def _json_records(text: str, name: str) -> tuple[Intake, Iterator[Located]]:
    def refuse(constant: str) -> Any:
        raise InputError(name, f"{constant} is not a number.", "Leave the field out instead.")

    try:
        content = json.loads(text, parse_constant=refuse)
    except (RecursionError, ValueError) as error:
        raise InputError(name, f"not JSON ({error}).", "A log file ends in .json or .csv.") from None
    if not isinstance(content, dict) or content.get("partduty_log") != FORMAT:
        raise InputError(
            name, f"this is not a log of format {FORMAT}.", "Make one with `partduty log export`."
        )
    lists = {key: content.get(key, []) for key in ("prints", "observations", "changes")}
    if not all(isinstance(part, list) for part in lists.values()):
        raise InputError(
            name, "prints, observations and changes must be lists.", "See `partduty log export`."
        )
    log_id = content.get("log_id", "")
    intake = Intake(log_id=log_id if isinstance(log_id, str) else "")
    return intake, (
        (f"{key}[{index}]", key[:-1], record if isinstance(record, dict) else {"record": record})
        for key, records in lists.items()
        for index, record in enumerate(records)
    )


def _check_all(intake: Intake, records: Iterable[Located]) -> None:
    for where, kind, record in records:
        if kind == "log":
            intake.log_id = str(record.get("id", ""))
        elif kind == "uneven":
            intake.refused.append(Refusal(where, "row", "it has more or fewer cells than the header."))
        elif kind == "stray":
            intake.refused.append(
                Refusal(where, record["column"], "this column does not go with this record.")
            )
        elif kind == "change":
            _check_change(intake, where, record)
        elif kind in ("print", "observation"):
            _check_record(intake, where, kind, record)
        else:
            intake.refused.append(
                Refusal(where, "record", f"{kind[:40]!r} is neither print nor observation.")
            )


def _check_change(intake: Intake, where: str, record: dict[str, Any]) -> None:
    if set(record) != set(CHANGE_FIELDS) or not all(isinstance(part, str) for part in record.values()):
        intake.refused.append(
            Refusal(where, "change", "it needs the texts " + ", ".join(CHANGE_FIELDS) + ".")
        )
    else:
        intake.changes.append(record)


def _check_record(intake: Intake, where: str, kind: str, record: dict[str, Any]) -> None:
    try:
        plain = {
            name: _read_cell(name, value) if intake.is_spreadsheet else value
            for name, value in record.items()
        }
        json.dumps(plain, ensure_ascii=False).encode()  # refuses characters that no file can hold
        if kind == "print":
            intake.prints.append(Print.model_validate(plain))
        else:
            intake.observations.append(Observation.model_validate(plain))
    except ValidationError as error:
        name, why = first_refusal(error)
        intake.refused.append(Refusal(where, name or kind, f"{why}{_unit_hint(name)}"))
    except ValueError as error:
        intake.refused.append(Refusal(where, kind, str(error)))


UNITS = {"_mm": "mm", "_c": "°C", "_g": "g", "_min": "min", "_s": "s", "_mpa": "MPa"}


def _unit_hint(name: str) -> str:
    unit = next((unit for ending, unit in UNITS.items() if name.endswith(ending)), None)
    return f" (a plain number in {unit}, without the unit)" if unit else ""


def _read_cell(name: str, value: Any) -> Any:
    if not isinstance(value, str):
        return value
    if name in ("sheet", "settings", "states"):
        return json.loads(unguarded(value), parse_constant=_no_constant)
    if value.lstrip().startswith(("=", "@")):
        raise ValueError(
            f"{name}: {value[:40]!r} looks like a formula; put an apostrophe in front if it is text."
        )
    return unguarded(value)


def _no_constant(constant: str) -> Any:
    raise ValueError(f"{constant} is not a number.")


def _refuse_clashes(intake: Intake) -> None:
    """Refuse records of one file that contradict each other under one id; drop exact repeats."""
    for name in ("prints", "observations"):
        kept: dict[str, Any] = {}
        for record in getattr(intake, name):
            if record.id in kept and kept[record.id] != record:
                intake.refused.append(Refusal(name, record.id, "two different records have this id."))
            intake.already_here += record.id in kept
            kept.setdefault(record.id, record)
        setattr(intake, name, list(kept.values()))


def take_in(
    connection: sqlite3.Connection, intake: Intake, source: str | None = None, leave_out: bool = False
) -> Intake:
    """Write what `intake` holds, in one transaction; nothing where something was refused.

    `source` None: our own where the file came from this log, else named after the log it came from.
    `leave_out` takes in the rest where some records were refused.
    """
    own = str(connection.execute("SELECT log_id FROM store").fetchone()[0])
    source = source or ("own" if intake.log_id == own else f"log {intake.log_id[:16] or 'of others'}")
    _refuse_what_clashes_with(connection, intake)
    if intake.refused and not leave_out:
        return intake
    with writing(connection):
        _write(connection, intake, source)
    return intake


def _refuse_what_clashes_with(connection: sqlite3.Connection, intake: Intake) -> None:
    known = {entry.id for entry in intake.prints}
    fresh = []
    for seen in intake.observations:
        if seen.print_id not in known and not _there(connection, "prints", seen.print_id):
            intake.refused.append(
                Refusal("observations", seen.id, f"its print {seen.print_id} is not there.")
            )
        else:
            fresh.append(seen)
    intake.observations = fresh
    intake.prints = [entry for entry in intake.prints if _is_new(connection, intake, "prints", entry)]
    intake.observations = [
        seen for seen in intake.observations if _is_new(connection, intake, "observations", seen)
    ]


def _there(connection: sqlite3.Connection, table: str, entry_id: str) -> sqlite3.Row | None:
    row: sqlite3.Row | None = connection.execute(
        f"SELECT * FROM {table} WHERE id = ?", (entry_id,)
    ).fetchone()
    return row


def _is_new(connection: sqlite3.Connection, intake: Intake, table: str, record: Print | Observation) -> bool:
    row = _there(connection, table, record.id)
    if row is None:
        return True
    held = recording.print_of(row) if isinstance(record, Print) else recording.observation_of(row)
    if held.model_dump(exclude={"source"}) == record.model_dump(exclude={"source"}):
        intake.already_here += 1
    else:
        why = "another entry with this id is in the log; amend or void that one instead."
        intake.refused.append(Refusal(table, record.id, why))
    return False


def _write(connection: sqlite3.Connection, intake: Intake, source: str) -> None:
    for entry in intake.prints:
        foreign = entry.source if entry.source != "own" else source
        recording.put_print(connection, entry.model_copy(update={"source": foreign}))
    at_once = len(intake.observations) > MANY
    for seen in intake.observations:
        recording.put_observation(connection, seen, count=not at_once)
    if at_once:
        summary.rebuild(connection)
    for change in intake.changes:
        connection.execute(
            f"INSERT OR IGNORE INTO changes ({', '.join(CHANGE_FIELDS)}) VALUES (?, ?, ?, ?, ?, ?, ?)",
            tuple(change[name] for name in CHANGE_FIELDS),
        )
    intake.added = len(intake.prints) + len(intake.observations)
