"""Export and import: nothing lost, nothing doubled, nothing half taken in, no formula let through."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from synthetic_log import synthetic_print

from recommender.errors import InputError
from recommender.log import exchange, grammar, health, recording
from recommender.log.records import Observation
from recommender.log.store import open_store


@pytest.fixture
def filled(log: sqlite3.Connection) -> sqlite3.Connection:
    entry = synthetic_print(id="paaaaaa", note="=2+3", part="-hook", spool="'grey'")
    recording.add_print(log, entry)
    texts = {
        "measured": ["slot 14 = 13.92"], "mass": ["55 g"], "broke": ["90 N, across layers, at my thumb"],
        "note": ['=HYPERLINK("x")', "first\r\n=second"], "photo": ["/home/me/hook.jpg"], "event": ["warped"],
    }  # fmt: skip
    recording.add_observations(log, grammar.observations_from(texts, entry))
    recording.amend(log, "paaaaaa", {"printer": "right one"}, "mixed up")
    return log


def everything(log: sqlite3.Connection) -> tuple[list[object], list[object]]:
    prints = [recording.print_of(row) for row in log.execute("SELECT * FROM prints ORDER BY id")]
    rows = log.execute("SELECT * FROM observations ORDER BY id")
    return list(prints), [recording.observation_of(row) for row in rows]


def written(log: sqlite3.Connection, folder: Path, ending: str, anonymous: bool = False) -> Path:
    content = exchange.exported(log, anonymous)
    target = folder / f"log.{ending}"
    text = exchange.as_csv(content) if ending == "csv" else exchange.as_json(content)
    target.write_bytes(text.encode())
    return target


@pytest.mark.parametrize("ending", ["csv", "json"])
def test_there_and_back_again(filled: sqlite3.Connection, tmp_path: Path, ending: str) -> None:
    file = written(filled, tmp_path, ending)
    with closing(open_store(tmp_path / "other.db")) as other:
        intake = exchange.take_in(other, exchange.read_log_file(file), "own")
        assert (intake.added, intake.refused) == (8, [])
        assert everything(other) == everything(filled)
        assert health.check(other) == []
        changes = other.execute("SELECT count(*) FROM changes").fetchone()[0]
        assert changes == (1 if ending == "json" else 0)
        again = exchange.take_in(other, exchange.read_log_file(file), "own")
        assert (again.added, again.already_here) == (0, 8)
        assert everything(other) == everything(filled)


def test_a_log_of_others_gets_its_own_source(filled: sqlite3.Connection, tmp_path: Path) -> None:
    file = written(filled, tmp_path, "json")
    with closing(open_store(tmp_path / "other.db")) as other:
        exchange.take_in(other, exchange.read_log_file(file))
        source = other.execute("SELECT source FROM groups").fetchone()[0]
        log_id = filled.execute("SELECT log_id FROM store").fetchone()[0]
        assert source == f"log {log_id}"
    exchange.take_in(filled, exchange.read_log_file(file))
    assert {row[0] for row in filled.execute("SELECT source FROM groups")} == {"own"}


def test_no_cell_starts_a_formula(filled: sqlite3.Connection) -> None:
    table = list(csv.reader(io.StringIO(exchange.as_csv(exchange.exported(filled)), newline="")))
    numbers = {
        name for name, value in synthetic_print().model_dump().items() if isinstance(value, int | float)
    }
    for row in table[1:]:
        for column, cell in zip(table[0], row, strict=True):
            if column not in numbers:
                assert not cell.lstrip().startswith(("=", "+", "-", "@", "\t", "\r", "|")), (column, cell)
    assert any("'=2+3" in row for row in table)


def test_anonymous_drops_words_paths_and_names(filled: sqlite3.Connection, tmp_path: Path) -> None:
    file = written(filled, tmp_path, "json", anonymous=True)
    text = file.read_text()
    log_id = filled.execute("SELECT log_id FROM store").fetchone()[0]
    for word in (
        "hook.jpg",
        "HYPERLINK",
        "-hook",
        "right one",
        "left one",
        "grey",
        "thumb",
        "mixed up",
        "=2",
        log_id,
    ):
        assert word not in text
    content = json.loads(text)
    assert content["prints"][0]["material"] == "petg"
    assert content["prints"][0]["settings"]["walls"] == 3
    assert {seen["kind"] for seen in content["observations"]} == {"size", "mass", "broke", "event"}
    assert text == exchange.as_json(exchange.exported(filled, anonymous=True))
    with closing(open_store(tmp_path / "other.db")) as other:
        assert exchange.take_in(other, exchange.read_log_file(file)).refused == []


RECORD = synthetic_print(id="paaaaaa").model_dump()
SIZE = Observation(
    id="obbbbbb", print_id="paaaaaa", kind="size", feature="slot", nominal_mm=14.0, measured_mm=13.92
).model_dump()


def content_with(**changes: object) -> dict[str, object]:
    return {"partduty_log": 1, "prints": [RECORD], "observations": [{**SIZE, **changes}]}


@pytest.mark.parametrize(
    ("changes", "field", "why"),
    [
        ({"measured_mm": "13.92 in"}, "measured_mm", "a plain number in mm, without the unit"),
        ({"measured_mm": -1}, "measured_mm", "greater than 0"),
        ({"measured_mm": 1e300}, "measured_mm", "less than or equal"),
        ({"feature": "=1+1"}, "feature", "'outside', 'hole'"),
        ({"feature": "wheel"}, "feature", "'outside', 'hole'"),
        ({"print_id": "pzzzzzz"}, "obbbbbb", "its print pzzzzzz is not there"),
        ({"id": "x"}, "id", "'x' is no id of an observation"),
        ({"nominal_mm": None}, "observation", "needs nominal_mm"),
        ({"colour": "grey"}, "colour", "not permitted"),
        ({"words": "\ud800"}, "observation", "surrogates not allowed"),
        ({"entered_at": "yesterday"}, "entered_at", "Write it in UTC"),
    ],
)
def test_refused_with_the_reason_and_nothing_taken_in(
    log: sqlite3.Connection, tmp_path: Path, changes: dict[str, object], field: str, why: str
) -> None:
    file = tmp_path / "log.json"
    file.write_text(json.dumps(content_with(**changes)))
    intake = exchange.take_in(log, exchange.read_log_file(file))
    assert [(refusal.field, why in refusal.why) for refusal in intake.refused] == [(field, True)]
    assert everything(log) == ([], [])
    rest = exchange.take_in(log, exchange.read_log_file(file), leave_out=True)
    assert (rest.added, len(everything(log)[0])) == (1, 1)


def test_duplicates_inside_a_file(log: sqlite3.Connection, tmp_path: Path) -> None:
    file = tmp_path / "log.json"
    file.write_text(json.dumps({"partduty_log": 1, "prints": [RECORD, RECORD], "observations": [SIZE, SIZE]}))
    intake = exchange.take_in(log, exchange.read_log_file(file))
    assert (intake.added, intake.already_here, intake.refused) == (2, 2, [])
    file.write_text(json.dumps({"partduty_log": 1, "prints": [RECORD, {**RECORD, "part": "other"}]}))
    assert "two different records" in exchange.read_log_file(file).refused[0].why
    assert (
        "another entry with this id"
        in exchange.take_in(log, exchange.Intake(prints=[synthetic_print(id="paaaaaa", part="other")]))
        .refused[0]
        .why
    )


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.json", b"\xff\xfe{", "not UTF-8"),
        ("a.json", b"{", "not JSON"),
        ("a.json", b'{"partduty_log": 1, "prints": [NaN]}', "NaN is not a number"),
        ("a.json", b"[]", "not a log of format 1"),
        ("a.json", b'{"partduty_log": 1, "prints": {}}', "must be lists"),
        ("a.json", b"[" * 100_000, "not JSON"),
        ("a.csv", b"", "no column `record`"),
        ("a.csv", b"record,colour\nprint,grey\n", "columns not known or doubled: colour"),
        ("a.csv", b'record,id\nprint,"p', "not CSV"),
    ],
)
def test_files_that_are_no_logs(tmp_path: Path, name: str, content: bytes, words: str) -> None:
    file = tmp_path / name
    file.write_bytes(content)
    with pytest.raises(InputError, match=words):
        exchange.read_log_file(file)


def test_a_formula_in_a_cell_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text("record,id,part,material\nprint,paaaaaa,=1+1,petg\n")
    assert "looks like a formula" in exchange.read_log_file(file).refused[0].why


def test_csv_with_stray_or_uneven_cells(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text("record,id,part,load\nprint,paaaaaa,hook,5\nprint,paaaaaa\nmango,paaaaaa,x,\n")
    whys = [(refusal.where, refusal.why) for refusal in exchange.read_log_file(file).refused]
    assert whys == [
        ("line 2", "this column does not go with this record."),
        ("line 3", "it has more or fewer cells than the header."),
        ("line 4", "'mango' is neither print nor observation."),
    ]


@given(st.text(max_size=30))
def test_guarding_loses_nothing(text: str) -> None:
    assert exchange.unguarded(exchange.guarded(text)) == text


ODD_TEXTS = [
    "=1+1", "@x", "-5", "13.92 in", "1e999", "", " ", "\x00", "slot", "NaN", "'", '"', "{}", "\ud800",
]  # fmt: skip
ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=12),
    st.lists(st.integers(), max_size=2),
    st.sampled_from(ODD_TEXTS),
)
CHANGES = st.dictionaries(st.sampled_from([*SIZE, "colour"]), ODD, max_size=3)
PRINT_CHANGES = st.dictionaries(st.sampled_from([*RECORD, "colour"]), ODD, max_size=2)


def as_csv_file(prints: list[dict[str, object]], observations: list[dict[str, object]]) -> bytes:
    text = io.StringIO(newline="")
    columns = dict.fromkeys(["record", *RECORD, *SIZE, "colour"])
    table = csv.DictWriter(text, [column for column in columns if column != "colour"], extrasaction="ignore")
    table.writeheader()
    for kind, records in (("print", prints), ("observation", observations)):
        for record in records:
            cells = {
                name: json.dumps(value) if isinstance(value, dict) else value
                for name, value in record.items()
            }
            table.writerow({"record": kind, **cells})
    return text.getvalue().encode("utf-8", "surrogatepass")


@pytest.fixture(scope="module")
def shared_log(tmp_path_factory: pytest.TempPathFactory) -> sqlite3.Connection:
    connection = open_store(tmp_path_factory.mktemp("fuzz") / "outcomes.db")
    connection.execute("PRAGMA synchronous = OFF")  # the disk is not what is tested here
    return connection


def all_rows(log: sqlite3.Connection) -> list[list[tuple[object, ...]]]:
    tables = ("prints", "observations", "changes")
    return [[tuple(row) for row in log.execute(f"SELECT * FROM {table}")] for table in tables]


@pytest.mark.slow
@settings(
    max_examples=2000, deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
@given(
    st.lists(PRINT_CHANGES, min_size=1, max_size=2),
    st.lists(CHANGES, max_size=3),
    st.sampled_from(["json", "csv"]),
    st.binary(max_size=6),
    st.integers(0, 12),
)
def test_any_file_is_taken_in_whole_or_not_at_all(
    shared_log: sqlite3.Connection,
    tmp_path_factory: pytest.TempPathFactory,
    print_changes: list[dict[str, object]],
    changes: list[dict[str, object]],
    ending: str,
    stray: bytes,
    damage: int,
) -> None:
    """2,000 files: odd values, wrong units, formulas, repeats; stray bytes (broken encodings) in some."""
    prints = [{**RECORD, **change} for change in print_changes]
    observations = [{**SIZE, **change} for change in changes]
    whole = {"partduty_log": 1, "prints": prints, "observations": observations}
    content = json.dumps(whole).encode() if ending == "json" else as_csv_file(prints, observations)
    if damage == 0:
        middle = len(content) // 2
        content = content[:middle] + stray + content[middle:]
    file = tmp_path_factory.getbasetemp() / f"fuzz.{ending}"
    file.write_bytes(content)
    before = all_rows(shared_log)
    try:
        intake = exchange.take_in(shared_log, exchange.read_log_file(file))
    except InputError as error:
        assert str(error)
        assert all_rows(shared_log) == before
        return
    after = all_rows(shared_log)
    if intake.refused:
        assert all(refusal.where and refusal.field and refusal.why for refusal in intake.refused)
        assert after == before
    else:
        assert len(after[0]) + len(after[1]) == len(before[0]) + len(before[1]) + intake.added
    if intake.added:
        assert health.check(shared_log) == []
