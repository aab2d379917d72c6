"""The log as people read it: a list of prints, and one print with everything known of it."""

from __future__ import annotations

import json
import sqlite3
from typing import Any

from recommender.log import recording
from recommender.log.records import Observation, Print


def recent_prints(
    connection: sqlite3.Connection, material: str | None = None, printer: str | None = None, limit: int = 20
) -> list[dict[str, Any]]:
    """The latest prints first: id, day, part, material, printer, spool, number of observations, voided."""
    from sqlite_utils import Database

    where = [f"{name} = :{name}" for name, value in (("material", material), ("printer", printer)) if value]
    # recursive_triggers stays as it is: the connection is ours, and this only reads.
    rows = Database(connection, recursive_triggers=False).query(
        "SELECT id, substr(made_at, 1, 10) AS day, part, material, printer, spool, source, voided, "
        "(SELECT count(*) FROM observations AS o WHERE o.print_id = prints.id AND o.voided = 0) AS entries "
        f"FROM prints {'WHERE ' + ' AND '.join(where) if where else ''} "
        "ORDER BY made_at DESC, rowid DESC LIMIT :limit",
        {"material": material, "printer": printer, "limit": limit},
    )
    return list(rows)


def list_text(rows: list[dict[str, Any]]) -> str:
    """`recent_prints` as a table of at most 80 columns."""
    from tabulate import tabulate

    if not rows:
        return "No prints logged yet. Enter one with `partduty log print SHEET --as suggested`."
    table = [
        [
            row["id"],
            row["day"],
            str(row["part"])[:20],
            str(row["material"])[:9],
            str(row["printer"])[:14],
            f"{row['entries']}{' void' if row['voided'] else ''}",
        ]
        for row in rows
    ]
    return tabulate(table, headers=["print", "day", "part", "material", "printer", "entries"])


def shown(connection: sqlite3.Connection, print_id: str) -> dict[str, Any]:
    """Everything known of one print, its observations and its history."""
    entry = recording.find_print(connection, print_id)
    seen = recording.observations_of(connection, print_id)
    ids = [print_id, *(observation.id for observation in seen)]
    marks = ", ".join("?" * len(ids))
    history = connection.execute(
        f"SELECT * FROM changes WHERE entry IN ({marks}) ORDER BY rowid", ids
    ).fetchall()
    return {
        **entry.model_dump(),
        "observations": [observation.model_dump(exclude={"print_id"}) for observation in seen],
        "history": [
            {**dict(row), "before": json.loads(row["before"]), "after": json.loads(row["after"])}
            for row in history
        ],
    }


def shown_text(connection: sqlite3.Connection, print_id: str) -> str:
    """`shown` in plain words."""
    entry = recording.find_print(connection, print_id)
    lines = [*_print_lines(entry), "", "What was seen:"]
    seen = recording.observations_of(connection, print_id)
    lines += [
        f"  {observation.id}  {_void(observation)}{observation_words(entry, observation)}"
        for observation in seen
    ]
    if not seen:
        lines.append(f'  nothing yet. Example: partduty log observe {entry.id} --time "2 h 20 min"')
    history = shown(connection, print_id)["history"]
    if history:
        lines += ["", "History:"]
        lines += [f"  {row['at'][:10]} {row['entry']} {row['action']}{_from_to(row)}" for row in history]
    return "\n".join(lines)


def _void(record: Print | Observation) -> str:
    return "(void) " if record.voided else ""


def _from_to(row: dict[str, Any]) -> str:
    changed = [
        f"{name} {row['before'].get(name)} -> {value}"
        for name, value in row["after"].items()
        if name != "voided"
    ]
    reason = f" because: {row['reason']}" if row["reason"] else ""
    return (": " + ", ".join(changed) if changed else "") + reason


def _print_lines(entry: Print) -> list[str]:
    lines = [
        f"{entry.id}  {_void(entry)}{entry.part}",
        f"  made {entry.made_at[:10]} in {entry.material}"
        + (f" (spool {entry.spool})" if entry.spool else "")
        + (f" on {entry.printer}" if entry.printer else "")
        + (f"; from {entry.source}" if entry.source != "own" else ""),
    ]
    settings = ", ".join(f"{name} {value}" for name, value in entry.settings.items() if name != "material")
    lines += ["  settings: " + settings] if settings else []
    if entry.failure_typical:
        lines.append(
            f"  predicted to fail under its duty at {entry.failure_typical:.4g} {entry.load_unit} "
            f"({entry.failure_low or 0:.4g} to {entry.failure_high or 0:.4g})"
        )
    if entry.test_typical:
        lines.append(f"  predicted to fail in a short test at {entry.test_typical:.4g} {entry.load_unit}")
    if entry.mass_g and entry.time_min:
        lines.append(f"  calculated mass {entry.mass_g:.3g} g, print time {entry.time_min:.3g} min")
    versions = [text for text in (entry.knowledge_version, entry.model_version) if text]
    return lines + ([f"  by knowledge and model {', '.join(versions)}"] if versions else [])


def observation_words(entry: Print, seen: Observation) -> str:
    """One observation in plain words, with its computed stress where there is one."""
    words = {
        "size": _size_words,
        "time": lambda e, s: f"print time {s.amount:.4g} min" + _against(s.amount, e.time_min, "min"),
        "mass": lambda e, s: f"mass {s.amount:.4g} g" + _against(s.amount, e.mass_g, "g"),
        "held": _load_words,
        "broke": _load_words,
        "service": _service_words,
    }.get(seen.kind)
    return words(entry, seen) if words else f"{seen.kind}: {seen.words}"


def _against(value: float | None, predicted: float | None, unit: str) -> str:
    return (
        f" ({value / predicted:.2f} of the {predicted:.4g} {unit} predicted)" if value and predicted else ""
    )


def _size_words(entry: Print, seen: Observation) -> str:
    assert seen.nominal_mm is not None and seen.measured_mm is not None
    where = f" along {seen.axis}" if seen.axis else ""
    assumed = " (nominal assumed)" if seen.nominal_assumed else ""
    layer = ", first layer" if seen.first_layer else ""
    off = seen.measured_mm - seen.nominal_mm
    came_out = f"came out {seen.measured_mm:g} mm ({off:+.2f})"
    return f"{seen.feature} {seen.nominal_mm:g} mm{assumed} {came_out}{where}{layer}"


def _load_words(entry: Print, seen: Observation) -> str:
    assert seen.load is not None
    verb = "held" if seen.kind == "held" else "broke at"
    time = f" for {seen.duration_s:g} s" if seen.duration_s else ""
    share = f", {seen.multiple:.2f} of the predicted failure" if seen.multiple else ""
    stress = f", computed stress {seen.stress_mpa:.3g} MPa" if seen.stress_mpa else ""
    where = "".join(f", {part}" for part in (seen.how, seen.place) if part and part != "unknown")
    return f"{verb} {seen.load:.4g} {entry.load_unit}{time}{share}{stress}{where}"


def _service_words(entry: Print, seen: Observation) -> str:
    parts = [seen.outcome or "", seen.how or "", seen.place or ""]
    parts += [f"{seen.duration_s / 86400:.4g} days" if seen.duration_s else ""]
    parts += [f"{seen.cycles} cycles" if seen.cycles is not None else ""]
    parts += [f"hottest {seen.hottest_c:g} °C" if seen.hottest_c is not None else ""]
    return "in use: " + ", ".join(part for part in parts if part)
