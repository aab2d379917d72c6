"""The SQLite file under the outcome log: opening it safely, writing without loss, bringing it up to date.

Choices, and why. Rollback journal, because SQLite before 3.51.3 can very rarely corrupt a write-ahead log
when two connections reset it at once. ``synchronous=EXTRA``: as FULL, and the folder is flushed too after the
journal is removed, without which the last commit could come undone by a power cut. ``BEGIN IMMEDIATE`` for
every write, because a transaction that starts by reading cannot wait for the lock later. Foreign keys on.
Sources: SQLite documentation, "PRAGMA synchronous", "Transactions" and "Write-Ahead Logging".
"""

from __future__ import annotations

import os
import secrets
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path

from recommender.errors import StoreError

APPLICATION_ID = 0x50443031  # "PD01", so that another program's SQLite file is never taken for a log
SCHEMA_VERSION = 3
BUSY_TIMEOUT_S = 5.0
PATIENCE_S = 60.0
SAFE_WRITE_AHEAD = (3, 51, 3)
HEADER_BYTES = 100
MAGIC = b"SQLite format 3\x00"
SCHEMA_FOLDER = Path(__file__).parent / "schema"


def now() -> str:
    """The present in UTC, to the second, ISO 8601."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def open_store(path: Path, patience_s: float = PATIENCE_S) -> sqlite3.Connection:
    """Open the log at `path` for writing, making it or bringing it to the present schema where needed.

    Raises
    ------
    StoreError
        The file is no log, is damaged, was written by a newer version, or cannot be written. The file is
        left as it was.
    """
    with errors_explained(path):
        version = version_of(path)
        _make_folder(path.parent)
        connection = _connect(path)
        try:
            _leave_unsafe_journal(connection)
            if version < SCHEMA_VERSION:
                _bring_up_to_date(connection, path, patience_s)
        except BaseException:
            connection.close()
            raise
    return connection


def open_to_read(path: Path) -> sqlite3.Connection | None:
    """Open the log at `path` to read it, its schema brought up first; None where there is no log yet."""
    if not path.exists():
        return None
    with errors_explained(path):
        version = version_of(path)
    if version < SCHEMA_VERSION:
        return open_store(path)
    with errors_explained(path):
        # Not opened as read-only: after a crash the first reader must be able to roll the journal back.
        connection = _connect(path)
        connection.execute("PRAGMA query_only = ON")
        return connection


def version_of(path: Path) -> int:
    """Schema version in the file's header, read without opening the database; 0 where there is no file.

    Raises
    ------
    StoreError
        The file is not an outcome log, or a newer version wrote it.
    """
    if not path.exists():
        return 0
    if path.is_dir():
        raise StoreError(f"{path}: this is a folder. Name the log file inside it.")
    _finish_interrupted(path)
    with path.open("rb") as file:
        header = file.read(HEADER_BYTES)
    if not header:
        return 0
    if len(header) < HEADER_BYTES or not header.startswith(MAGIC):
        raise StoreError(
            f"{path}: this file is not an outcome log, or its start is damaged; it was left untouched. "
            "Name another file with --store, or restore a backup."
        )
    version = int.from_bytes(header[60:64], "big")
    if int.from_bytes(header[68:72], "big") != APPLICATION_ID and version:
        raise StoreError(f"{path}: this database belongs to another program; it was left untouched.")
    if version > SCHEMA_VERSION:
        raise StoreError(
            f"{path}: a newer version of partduty wrote this log (schema {version}; this version knows "
            f"{SCHEMA_VERSION}). It was left untouched. Update partduty, or name another log with --store."
        )
    return version


def _finish_interrupted(path: Path) -> None:
    """Let SQLite roll back what a power cut or a kill left half written, before anything is read past it."""
    journal = path.with_name(path.name + "-journal")
    if journal.exists() and journal.stat().st_size:
        with closing(sqlite3.connect(path, timeout=BUSY_TIMEOUT_S)) as connection:
            connection.execute("PRAGMA user_version").fetchone()


def _connect(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=BUSY_TIMEOUT_S, isolation_level=None)
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = EXTRA")
    return connection


def journal_mode_wanted() -> str:
    """The write-ahead log only where the linked SQLite is free of its reset race."""
    return "wal" if sqlite3.sqlite_version_info >= SAFE_WRITE_AHEAD else "delete"


def _leave_unsafe_journal(connection: sqlite3.Connection) -> None:
    mode = connection.execute("PRAGMA journal_mode").fetchone()[0]
    if mode == "wal" and journal_mode_wanted() != "wal":
        connection.execute("PRAGMA journal_mode = delete")


@contextmanager
def writing(connection: sqlite3.Connection, patience_s: float = PATIENCE_S) -> Iterator[None]:
    """One write transaction: all of it or nothing, and it waits its turn.

    SQLite itself waits 5 s for another writer; after that this tries again until `patience_s` is over.
    """
    _patiently(lambda: connection.execute("BEGIN IMMEDIATE"), patience_s)
    try:
        yield
        _patiently(lambda: connection.execute("COMMIT"), patience_s)
    except BaseException:
        with suppress(sqlite3.Error):
            connection.execute("ROLLBACK")
        raise


def _patiently(step: Callable[[], object], patience_s: float) -> None:
    deadline = time.monotonic() + patience_s
    while True:
        try:
            step()
            return
        except sqlite3.OperationalError as error:
            busy = error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
            if not busy or time.monotonic() > deadline:
                raise
            time.sleep(0.01 + 0.02 * secrets.randbelow(100) / 100)


def statements_of(script: str) -> Iterator[str]:
    """The statements of an SQL script one by one, so that they can run inside one transaction."""
    pending = ""
    for line in script.splitlines(keepends=True):
        if not pending and (not line.strip() or line.lstrip().startswith("--")):
            continue
        pending += line
        if sqlite3.complete_statement(pending):
            yield pending.strip()
            pending = ""


def apply_schema(connection: sqlite3.Connection, version: int) -> None:
    """Take the schema from `version` - 1 to `version`; call inside a transaction."""
    script = (SCHEMA_FOLDER / f"{version:03d}.sql").read_text(encoding="utf-8")
    for statement in statements_of(script):
        connection.execute(statement)
    if version == 1:
        connection.execute("INSERT INTO store (log_id, made_at) VALUES (?, ?)", (secrets.token_hex(8), now()))
    if version == 3:
        from recommender.log import summary

        summary.classify_all(connection)
        summary.rebuild(connection)


def _bring_up_to_date(connection: sqlite3.Connection, path: Path, patience_s: float) -> None:
    connection.execute(f"PRAGMA journal_mode = {journal_mode_wanted()}")
    found = connection.execute("PRAGMA user_version").fetchone()[0]
    if 0 < found < SCHEMA_VERSION:
        backup_to(connection, path.with_name(f"{path.name}.before-schema-{SCHEMA_VERSION}"))
    with writing(connection, patience_s):
        # Read again: another process may have done it while we waited for our turn.
        found = connection.execute("PRAGMA user_version").fetchone()[0]
        for version in range(found + 1, SCHEMA_VERSION + 1):
            apply_schema(connection, version)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")


def backup_to(connection: sqlite3.Connection, target: Path) -> None:
    """Copy the whole log to `target` while it is in use; no half-written copy is left under that name."""
    partial = target.with_name(target.name + ".part")
    with closing(sqlite3.connect(partial)) as copy:
        connection.backup(copy)
    partial.replace(target)
    _flush_folder(target.parent)


def _make_folder(folder: Path) -> None:
    """Make a folder and those above it, each flushed, or a power cut may take the folder with all in it."""
    if not folder.exists():
        _make_folder(folder.parent)
        folder.mkdir(exist_ok=True)
        _flush_folder(folder.parent)


def _flush_folder(folder: Path) -> None:
    """Put the names in a folder on the disk, without which a renaming may come undone by a power cut."""
    if os.name != "posix":  # elsewhere folders cannot be opened
        return
    handle = os.open(folder, os.O_RDONLY)
    with suppress(OSError):  # some file systems refuse it; SQLite passes over that too
        os.fsync(handle)
    os.close(handle)


@contextmanager
def errors_explained(path: Path) -> Iterator[None]:
    """Turn what SQLite or the disk reports into one clear message."""
    try:
        yield
    except sqlite3.Error as error:
        raise StoreError(f"{path}: {_explained(error)}") from error
    except OSError as error:
        raise StoreError(
            f"{path}: the log cannot be reached ({error.strerror}). Check the folder and its rights."
        ) from error


def _explained(error: sqlite3.Error) -> str:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    words = {
        sqlite3.SQLITE_READONLY: "the log, or the disk it lies on, is read-only; nothing was written. "
        "Check its rights, or name another file with --store.",
        sqlite3.SQLITE_FULL: "the disk is full; nothing was written. Make room and enter it again.",
        sqlite3.SQLITE_CORRUPT: "the log is damaged; nothing was written. Restore a backup, or keep the file "
        "and start a new one with --store.",
        sqlite3.SQLITE_NOTADB: "this file is not an outcome log, or it is damaged; it was left untouched. "
        "Name another file with --store.",
        sqlite3.SQLITE_BUSY: "another program holds the log; nothing was written. Close it and try again.",
        sqlite3.SQLITE_LOCKED: "another program holds the log; nothing was written. Close it and try again.",
        sqlite3.SQLITE_CANTOPEN: "the log cannot be opened. Check that the folder exists and its rights.",
        sqlite3.SQLITE_IOERR: "the disk reports an error; nothing was written. Check the disk and try again.",
    }
    return words.get(
        code, f"the log cannot be used ({error}); nothing was written. Run `partduty log check`."
    )
