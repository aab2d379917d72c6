"""Logs as earlier versions left them, for the tests of migration."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from recommender.log import store


def made_with_schema(path: Path, version: int) -> None:
    """A log as an earlier version left it: one print, a size, a time and a load test."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for step in range(1, version + 1):
            script = (store.SCHEMA_FOLDER / f"{step:03d}.sql").read_text(encoding="utf-8")
            connection.executescript(script)
        connection.execute("INSERT INTO store VALUES ('0123456789abcdef', '2026-01-01T00:00:00Z')")
        columns = "id, made_at, part, printer, material, geometry, test_typical, time_min"
        values = (
            "paaaaaa",
            "2026-01-02T00:00:00Z",
            "old hook",
            "left one",
            "petg",
            "hook, small",
            100.0,
            50.0,
        )
        connection.execute(f"INSERT INTO prints ({columns}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)", values)
        for entry in (
            ("obbbbb1", "size", "hole", 5.0, 4.8, None, None),
            ("obbbbb2", "time", None, None, None, None, 60.0),
            ("obbbbb3", "broke", None, None, None, 80.0, None),
        ):
            connection.execute(
                "INSERT INTO observations (id, print_id, entered_at, kind, feature, nominal_mm, measured_mm, "
                "load, amount) VALUES (?, 'paaaaaa', '2026-01-03T00:00:00Z', ?, ?, ?, ?, ?, ?)",
                entry,
            )
        connection.execute(f"PRAGMA application_id = {store.APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {version}")
