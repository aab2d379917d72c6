"""``partduty note --print``: the note of a logged print tells its real settings, sizes and tests."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
import yaml
from note_cases import knowledge
from typer.testing import CliRunner

from recommender.cli import app
from recommender.duty.reading import duty_from
from recommender.errors import InputError
from recommender.log import recording
from recommender.log.records import Observation, Print
from recommender.log.store import open_store
from recommender.report.note.from_log import greatest_load, logged_part

EXAMPLE = Path("datasets/examples/curtain_rod_end.yaml")
SETTINGS = {"walls": 6, "infill_percent": 60, "infill_pattern": "gyroid", "orientation": "edge",
            "nozzle_temperature_c": 247}  # fmt: skip


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "outcomes.db"
    monkeypatch.setenv("PARTDUTY_STORE", str(path))
    monkeypatch.delenv("PARTDUTY_PROFILE", raising=False)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    return path


def log_print(store: Path, *seen: dict[str, Any], **changes: Any) -> str:
    """Log a print of the example with observations; its id."""
    sheet = yaml.safe_load(EXAMPLE.read_text(encoding="utf-8"))
    given = {"part": sheet["part"], "material": "asa", "sheet": sheet, "settings": SETTINGS, "applied": 24.5,
             "made_at": "2026-11-20T10:00:00Z"}  # fmt: skip
    entry = Print(**{**given, **changes})
    with closing(open_store(store)) as connection:
        recording.add_print(connection, entry)
        recording.add_observations(
            connection,
            [Observation(print_id=entry.id, entered_at="2026-11-22T10:00:00Z", **fields) for fields in seen],
        )
    return entry.id


HELD = {"kind": "held", "load": 80.0, "duration_s": 600.0}
SIZE = {"kind": "size", "feature": "hole", "nominal_mm": 5.0, "measured_mm": 4.83}


def test_the_note_tells_what_was_really_done(store: Path) -> None:
    print_id = log_print(store, HELD, SIZE)
    with closing(open_store(store)) as connection:
        duty, answer, trace = logged_part(connection, print_id[:5], knowledge())
    assert trace.batch == print_id and trace.made_on == "2026-11-20"
    assert trace.settings is not None and answer.choice is not None
    assert (trace.settings.walls, trace.settings.nozzle_temperature_c) == (6, 247)
    assert trace.settings.material == "asa" == answer.choice.settings.material
    assert [(size.feature, size.planned_mm, size.measured_mm) for size in trace.measured] == [
        ("hole", 5, 4.83)
    ]
    # The sheet has loads of 24.5 N (2.5 kg) and 60 N; 80 N is told as a multiple of the larger: 1.333.
    assert max(load.force or 0 for load in duty.loads) == pytest.approx(60.0)
    assert [test.multiple for test in trace.tests] == pytest.approx([80 / 60])


def test_the_command_finds_a_print_by_the_start_of_its_id(store: Path) -> None:
    print_id = log_print(store, HELD, SIZE)
    result = CliRunner().invoke(app, ["note", "--print", print_id[:6], "--format", "txt"])
    text = " ".join(result.stdout.split())
    assert result.exit_code == 0, text
    assert f"Batch: {print_id}" in text and "Plastic: ASA" in text
    assert "On 2026-11-22 it held 1.33 times the greatest load for 10 min." in text
    assert "Measured: hole 4.83 mm (5 planned)." in text
    maker = CliRunner().invoke(app, ["note", "--print", print_id, "--maker", "--format", "txt"])
    assert "Walls: 6" in maker.stdout


@pytest.mark.parametrize(("seen", "changes", "words"), [
    ([{"kind": "broke", "load": 210.0}], {}, "the log says that"),
    ([{"kind": "service", "outcome": "sagged"}], {}, "sagged"),
    ([], {"sheet": {}}, "without its duty sheet"),
    ([], {"voided": True}, "is voided"),
])  # fmt: skip
def test_a_print_that_cannot_be_handed_over_gets_no_note(
    store: Path, seen: list[dict[str, Any]], changes: dict[str, Any], words: str
) -> None:
    print_id = log_print(store, *seen, **changes)
    with closing(open_store(store)) as connection, pytest.raises(InputError, match=words):
        logged_part(connection, print_id, knowledge())


def test_an_unknown_print_and_a_missing_log_are_told(store: Path) -> None:
    missing = CliRunner().invoke(app, ["note", "--print", "p7"])
    assert missing.exit_code == 2 and "there is no log yet" in missing.stderr
    log_print(store)
    unknown = CliRunner().invoke(app, ["note", "--print", "pzzz"])
    assert unknown.exit_code == 2 and "there is no such entry" in unknown.stderr


def test_tests_are_told_against_the_largest_load_of_the_same_kind() -> None:
    sheet = yaml.safe_load(EXAMPLE.read_text(encoding="utf-8"))
    duty = duty_from(sheet)
    entry = Print(part="x", material="pla", applied=24.5)
    assert greatest_load(entry, duty) == pytest.approx(60.0)
    assert greatest_load(entry.model_copy(update={"load_unit": "N·mm"}), duty) == 24.5
    assert greatest_load(entry.model_copy(update={"load_unit": "MPa", "applied": None}), duty) == 0.0
