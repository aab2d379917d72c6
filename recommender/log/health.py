"""Is the log sound? What to do where it is not."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from recommender.log import summary
from recommender.log.store import writing


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault of the log and what to do about it."""

    problem: str
    remedy: str


def check(connection: sqlite3.Connection) -> list[Finding]:
    """Every fault found in the file, the references between rows, and the counts that learning reads."""
    findings = [
        Finding(
            f"the file is damaged: {row[0]}", "Restore the latest backup (`partduty log backup` makes one)."
        )
        for row in connection.execute("PRAGMA integrity_check(5)")
        if row[0] != "ok"
    ]
    if findings:
        return findings
    orphans = len(connection.execute("PRAGMA foreign_key_check").fetchall())
    if orphans:
        findings.append(
            Finding(f"{orphans} rows point to entries that are not there", "Restore the latest backup.")
        )
    wrong = summary.out_of_step(connection)
    if wrong:
        findings.append(
            Finding(
                f"{wrong} counts do not match the entries",
                "Run `partduty log check --repair`; the entries are whole.",
            )
        )
    return findings


def repair(connection: sqlite3.Connection) -> int:
    """Compute classes and counts anew from the entries; returns how many had been wrong."""
    with writing(connection):
        wrong = summary.classify_all(connection) + summary.out_of_step(connection)
        summary.rebuild(connection)
    return wrong
