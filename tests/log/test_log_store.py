"""Opening, migrating and protecting the file."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path

import pytest
from old_stores import made_with_schema
from synthetic_log import synthetic_print

from recommender.errors import StoreError
from recommender.log import health, recording, store, summary
from recommender.log.records import Observation


def test_settings_of_the_connection(log: sqlite3.Connection) -> None:
    def pragma(name: str) -> object:
        return log.execute(f"PRAGMA {name}").fetchone()[0]

    assert pragma("journal_mode") == store.journal_mode_wanted()
    assert pragma("synchronous") == 3  # EXTRA; SQLite documentation, PRAGMA synchronous
    assert pragma("foreign_keys") == 1
    assert pragma("busy_timeout") == 5000


def test_write_ahead_log_only_where_its_reset_race_is_mended(monkeypatch: pytest.MonkeyPatch) -> None:
    for version, mode in (((3, 51, 2), "delete"), ((3, 51, 3), "wal"), ((3, 40, 1), "delete")):
        monkeypatch.setattr(sqlite3, "sqlite_version_info", version)
        assert store.journal_mode_wanted() == mode


@pytest.mark.parametrize("version", range(1, store.SCHEMA_VERSION))
def test_every_earlier_schema_is_brought_up(path: Path, version: int) -> None:
    made_with_schema(path, version)
    with closing(store.open_store(path)) as log:
        assert log.execute("PRAGMA user_version").fetchone()[0] == store.SCHEMA_VERSION
        assert recording.find_print(log, "paaaaaa").part == "old hook"
        assert len(recording.observations_of(log, "paaaaaa")) == 3
        counts = {row["topic"]: row["value_class"] for row in log.execute("SELECT * FROM summary")}
        # By hand: 4.8 - 5 = -20 steps of 0.01 mm; 100 ln(60/50) = 18.2; 100 ln(80/100) = -22.3;
        # and no event that spoils the print.
        assert counts == {"size": -20, "time": 18, "broke": -22, "right": 1}
        assert health.check(log) == []
    backup = path.with_name(f"{path.name}.before-schema-{store.SCHEMA_VERSION}")
    with closing(sqlite3.connect(backup)) as before:
        assert before.execute("PRAGMA user_version").fetchone()[0] == version


def test_a_fresh_schema_equals_a_migrated_one(tmp_path: Path) -> None:
    made_with_schema(tmp_path / "old.db", 1)
    schemas = []
    for name in ("old.db", "new.db"):
        with closing(store.open_store(tmp_path / name)) as log:
            schemas.append(sorted(tuple(row) for row in log.execute("SELECT name, sql FROM sqlite_master")))
    assert schemas[0] == schemas[1]


def test_a_failed_migration_leaves_the_old_log(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made_with_schema(path, 1)

    def fail(connection: sqlite3.Connection) -> int:
        raise sqlite3.OperationalError("synthetic failure")

    monkeypatch.setattr(summary, "classify_all", fail)
    with pytest.raises(StoreError):
        store.open_store(path)
    monkeypatch.undo()
    assert store.version_of(path) == 1
    store.open_store(path).close()
    assert store.version_of(path) == store.SCHEMA_VERSION


def test_a_newer_log_is_left_untouched(path: Path) -> None:
    store.open_store(path).close()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA user_version = 99")
    before = path.read_bytes()
    with pytest.raises(StoreError, match="a newer version of partduty wrote this log"):
        store.open_store(path)
    with pytest.raises(StoreError, match="newer"):
        store.open_to_read(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize("content", [b"hello", b"not a database at all" * 100, store.MAGIC + b"\x00" * 20])
def test_a_file_that_is_no_log_is_left_untouched(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    with pytest.raises(StoreError, match="not an outcome log"):
        store.open_store(path)
    assert path.read_bytes() == content


def test_a_database_of_another_program_is_left_untouched(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE other (a)")
        connection.execute("PRAGMA user_version = 2")
    before = path.read_bytes()
    with pytest.raises(StoreError, match="belongs to another program"):
        store.open_store(path)
    assert path.read_bytes() == before


def test_a_damaged_log_gets_one_message(path: Path, log: sqlite3.Connection) -> None:
    recording.add_print(log, synthetic_print())
    log.close()
    content = bytearray(path.read_bytes())
    content[4096 : len(content) - 4096] = b"\xff" * (len(content) - 8192)
    path.write_bytes(content)
    damaged = pytest.raises(StoreError, match="damaged")
    with damaged, store.errors_explained(path), closing(store.open_store(path)) as connection:
        recording.add_print(connection, synthetic_print())
    assert path.read_bytes() == bytes(content)


def test_a_full_disk_gets_one_message_and_loses_nothing(path: Path, log: sqlite3.Connection) -> None:
    recording.add_print(log, synthetic_print(id="paaaaaa"))
    pages = log.execute("PRAGMA page_count").fetchone()[0]
    log.execute(f"PRAGMA max_page_count = {pages}")  # SQLite then reports the same as on a full disk
    with pytest.raises(StoreError, match="disk is full"), store.errors_explained(path):
        for number in range(200):
            recording.add_print(log, synthetic_print(id=f"pbbbbbb{number}", note="x" * 400))
    assert log.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    assert recording.find_print(log, "paaaaaa").part == "synthetic hook"
    assert health.check(log) == []


WRITE_AS_ANYBODY = """
import os, sys
from pathlib import Path
import recommender.log.summary, platformdirs
from recommender.errors import StoreError
from recommender.log.store import errors_explained, open_store, writing
if os.getuid() == 0:
    os.setuid(65534)  # the superuser may write anything, so another user has to try
path = Path(sys.argv[1])
try:
    connection = open_store(path)
    with errors_explained(path), writing(connection):
        connection.execute("UPDATE store SET made_at = 'x'")
except StoreError as error:
    print(error)
"""


def test_a_read_only_log_gets_one_message(path: Path, log: sqlite3.Connection) -> None:
    log.close()
    path.chmod(0o444)
    for folder in list(path.parents)[:-2]:
        folder.chmod(0o555)
    before = path.read_bytes()
    command = [sys.executable, "-c", WRITE_AS_ANYBODY, str(path)]
    answer = subprocess.run(command, capture_output=True, text=True, check=False)
    for folder in list(path.parents)[:-2]:
        folder.chmod(0o755)
    assert "read-only; nothing was written" in answer.stdout, answer.stderr
    assert path.read_bytes() == before


def test_a_folder_in_place_of_the_log(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="this is a folder"):
        store.open_store(tmp_path)


def test_reading_where_there_is_no_log_makes_none(path: Path) -> None:
    assert store.open_to_read(path) is None
    assert not path.exists()


def test_reading_never_writes(path: Path, log: sqlite3.Connection) -> None:
    reader = store.open_to_read(path)
    assert reader is not None
    with closing(reader), pytest.raises(sqlite3.OperationalError, match="readonly"):
        reader.execute("INSERT INTO store VALUES ('a', 'b')")


def test_a_writer_waits_for_its_turn_beyond_the_busy_timeout(path: Path, log: sqlite3.Connection) -> None:
    log.execute("PRAGMA busy_timeout = 50")
    other = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN IMMEDIATE")
    release = threading.Timer(0.4, lambda: other.execute("COMMIT"))
    release.start()
    recording.add_print(log, synthetic_print(id="paaaaaa"))
    release.join()
    other.close()
    assert recording.find_print(log, "paaaaaa")


def test_a_transaction_takes_the_lock_before_it_reads(path: Path, log: sqlite3.Connection) -> None:
    with closing(sqlite3.connect(path, isolation_level=None, timeout=0)) as other:
        with store.writing(log):
            log.execute("SELECT * FROM prints").fetchall()
            with pytest.raises(sqlite3.OperationalError, match="locked"):
                other.execute("BEGIN IMMEDIATE")
        other.execute("BEGIN IMMEDIATE")


def test_a_writer_gives_up_with_a_message(path: Path, log: sqlite3.Connection) -> None:
    log.execute("PRAGMA busy_timeout = 20")
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        explained = pytest.raises(StoreError, match="another program holds the log")
        with explained, store.errors_explained(path), store.writing(log, patience_s=0.1):
            pass


def test_history_and_entries_cannot_be_deleted(log: sqlite3.Connection) -> None:
    recording.add_print(log, synthetic_print(id="paaaaaa"))
    recording.void(log, "paaaaaa", "a test")
    for statement in ("DELETE FROM prints", "DELETE FROM changes", "UPDATE changes SET reason = 'other'"):
        with pytest.raises(sqlite3.IntegrityError):
            log.execute(statement)


def test_an_observation_needs_its_print(log: sqlite3.Connection) -> None:
    with pytest.raises(sqlite3.IntegrityError):
        log.execute(
            "INSERT INTO observations (id, print_id, entered_at, kind) "
            "VALUES ('oaaaaaa', 'pzzzzzz', '', 'note')"
        )


def test_backup_while_in_use(path: Path, log: sqlite3.Connection, tmp_path: Path) -> None:
    recording.add_print(log, synthetic_print(id="paaaaaa"))
    with store.writing(log):
        pass
    other = store.open_store(path)
    other.execute("BEGIN")
    other.execute("SELECT * FROM prints").fetchall()
    store.backup_to(log, tmp_path / "copy.db")
    other.close()
    with closing(store.open_store(tmp_path / "copy.db")) as copy:
        assert recording.find_print(copy, "paaaaaa").part == "synthetic hook"
    assert not (tmp_path / "copy.db.part").exists()


def test_check_finds_counts_that_do_not_match(log: sqlite3.Connection) -> None:
    recording.add_print(log, synthetic_print(id="paaaaaa"))
    recording.add_observations(log, [Observation(print_id="paaaaaa", kind="mass", amount=55.0)])
    assert health.check(log) == []
    log.execute("UPDATE summary SET count = count + 1 WHERE topic = 'mass'")
    assert [finding.problem for finding in health.check(log)] == ["2 counts do not match the entries"]
    health.repair(log)
    assert health.check(log) == []
