"""A logged print as the note needs it: its duty, what its real settings bear, and what was measured and tested."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from kb.loading import KnowledgeBase
from recommender.answer import Answer, Settings
from recommender.duty.reading import duty_from
from recommender.duty.sheet import Duty
from recommender.errors import InputError
from recommender.log import recording
from recommender.log.records import Observation, Print
from recommender.report.note.case import HeldTest, MeasuredSize, Trace
from recommender.suggest import assess

FIELD = "--print"
_AMOUNTS = {"N": "force", "N·mm": "torque", "MPa": "pressure"}  # unit of the log: field of a load
OUT_OF_USE = ("broke", "sagged", "wore", "leaked", "came loose")


def logged_part(
    connection: sqlite3.Connection, print_id: str, knowledge: KnowledgeBase
) -> tuple[Duty, Answer, Trace]:
    """Duty, assessment of the settings really used, and trace of the print whose id starts with `print_id`.

    Raises
    ------
    InputError
        There is no such print, it was logged without its duty, it is voided, or it is known to be damaged.
    """
    entry = recording.find_print(connection, recording.find_id(connection, print_id))
    seen = [each for each in recording.observations_of(connection, entry.id) if not each.voided]
    _refuse_unfit(entry, seen)
    duty = duty_from(entry.sheet, entry.id)
    answer = assess(duty, {**entry.settings, "material": entry.material}, knowledge)
    return duty, answer, trace_of(entry, seen, duty, answer)


def open_log(store: Path | None) -> sqlite3.Connection:
    """The log to read from.

    Raises
    ------
    InputError
        There is no log yet.
    """
    from recommender.log.location import store_path
    from recommender.log.store import open_to_read

    path = store_path(store)
    connection = open_to_read(path)
    if connection is None:
        raise InputError(str(path), "there is no log yet.", "Enter a print with `partduty log print SHEET`.")
    return connection


def _refuse_unfit(entry: Print, seen: Sequence[Observation]) -> None:
    if entry.voided:
        raise InputError(FIELD, f"{entry.id} is voided in the log.", "Name another print.")
    if not entry.sheet:
        raise InputError(
            FIELD, f"{entry.id} was logged without its duty sheet.", "Write the note from the sheet instead."
        )
    damaged = [each for each in seen if each.kind == "broke" or each.outcome in OUT_OF_USE]
    if damaged:
        what = damaged[0].outcome or "broke"
        raise InputError(
            FIELD,
            f"the log says that {entry.id} {what}, so there is nothing to hand over.",
            "Log a new print and write its note.",
        )


def trace_of(entry: Print, seen: Sequence[Observation], duty: Duty, answer: Answer) -> Trace:
    """What identifies this print, what was measured on it and which loads it held."""
    greatest = greatest_load(entry, duty)
    return Trace(
        batch=entry.id,
        made_on=entry.made_at[:10],
        measured=tuple(_measured(each) for each in seen if each.kind == "size"),
        tests=tuple(_held(each, greatest) for each in seen if each.kind == "held" and greatest),
        settings=settings_of(entry, answer),
    )


def _measured(seen: Observation) -> MeasuredSize:
    return MeasuredSize(seen.feature or "outside", seen.nominal_mm or 0.0, seen.measured_mm or 0.0)


def greatest_load(entry: Print, duty: Duty) -> float:
    """The largest load of the duty in the unit of the log, nought where there is none.

    A test is told as a multiple of the largest, so that no load case seems better proved than it was.
    """
    name = _AMOUNTS.get(entry.load_unit, "")
    amounts = [getattr(load, name, None) or 0.0 for load in duty.loads]
    return max([entry.applied or 0.0, *amounts])


def _held(seen: Observation, greatest: float) -> HeldTest:
    """A load that was held, as a multiple of the greatest load of the duty."""
    multiple = (seen.load or 0.0) / greatest
    return HeldTest(True, multiple, seen.duration_s, seen.hottest_c, seen.entered_at[:10])


def settings_of(entry: Print, answer: Answer) -> Settings | None:
    """The settings as logged; what the log leaves out is as assessed."""
    if answer.choice is None:
        return None
    known = set(Settings._fields)
    logged: dict[str, Any] = {name: value for name, value in entry.settings.items() if name in known}
    assessed = {name: getattr(answer.choice.settings, name) for name in known}
    return Settings(**{**assessed, **logged})
