"""The commands, from the outside."""

from __future__ import annotations

import json
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from recommender.cli import app

ROOT = Path(__file__).resolve().parents[2]
BAR = ROOT / "datasets" / "examples" / "test_bar.yaml"


@pytest.fixture
def run(path: Path, monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]
    monkeypatch.setenv("PARTDUTY_STORE", str(path))

    def command(*words: str, code: int = 0, typed: str | None = None) -> Result:
        result = CliRunner().invoke(app, list(words), input=typed)
        assert result.exit_code == code, (words, result.output, result.exception)
        return result

    return command


@pytest.fixture
def logged(run):  # type: ignore[no-untyped-def]
    run(
        "log",
        "print",
        str(BAR),
        "--set",
        "material=petg",
        "--set",
        "walls=3",
        "--spool",
        "grey 3",
        "--id",
        "paaaaaa",
    )
    run(
        "log", "observe", "paaaaaa", "--measured", "slot=13.92", "--held", "40 N for 5 min", "--broke",
        "210 N, across layers", "--time", "2 h 20 min", "--mass", "38 g", "--event", "strings",
    )  # fmt: skip
    return run


def test_print_as_suggested(run) -> None:  # type: ignore[no-untyped-def]
    made = json.loads(run("log", "print", str(BAR), "--as", "suggested", "--json").output)
    shown = json.loads(run("suggest", str(BAR), "--json").output)
    assert made["settings"]["walls"] == shown["choice"]["settings"]["walls"]
    assert made["failure_typical"] == pytest.approx(shown["choice"]["failure_load"]["typical"], rel=1e-4)
    assert made["knowledge_version"] == shown["knowledge_version"]
    assert min(made["states"].values()) == pytest.approx(made["test_typical"])
    listed = json.loads(run("log", "list", "--json").output)
    assert [(row["id"], row["entries"]) for row in listed] == [(made["id"], 0)]


def test_the_same_print_twice_is_one(logged) -> None:  # type: ignore[no-untyped-def]
    assert len(json.loads(logged("log", "list", "--json").output)) == 1


def test_show_tells_stress_and_history(logged) -> None:  # type: ignore[no-untyped-def]
    shown = json.loads(logged("log", "show", "pa", "--json").output)
    broke = next(item for item in shown["observations"] if item["kind"] == "broke")
    assert broke["multiple"] == pytest.approx(210 / shown["test_typical"])
    assert broke["stress_mpa"] == pytest.approx(shown["stress_mpa"] * 210 / shown["applied"])
    logged("log", "amend", broke["id"], "--set", "load=800", "--reason", "wrong key")
    text = logged("log", "show", broke["id"]).output
    assert "load 210.0 -> 800" in text and "because: wrong key" in text


def test_void_and_undo(logged) -> None:  # type: ignore[no-untyped-def]
    assert "is voided" in logged("log", "void", "pa", "--reason", "other part").output
    assert "already" in logged("log", "void", "pa").output
    assert "taught nothing yet" in logged("learned").output
    logged("log", "void", "pa", "--undo")
    assert "strength" in logged("learned").output


def test_learned_sizes_diagnose(logged) -> None:  # type: ignore[no-untyped-def]
    learned = json.loads(logged("learned", "--json").output)
    assert {factor["topic"] for factor in learned["factors"]} == {"strength", "time", "mass"}
    (strength,) = [factor for factor in learned["factors"] if factor["topic"] == "strength"]
    assert strength["before"]["median"] == 1.0 > strength["after"]["median"]
    assert strength["number_of_entries"] == 2
    sizes = json.loads(logged("sizes", "--material", "PETG", "--slot", "14", "--json").output)
    assert sizes["entries"] == 1 and 14.0 < sizes["sizes"][0]["draw_mm"] < 14.3
    assert "draw it" in logged("sizes", "--material", "petg").output
    assert "Change first" in logged("diagnose", "pa").output
    for words in (("learned",), ("sizes", "--material", "petg"), ("diagnose", "pa"), ("log", "list")):
        assert max(len(line) for line in logged(*words).output.splitlines()) <= 100


def test_suggest_says_because_you_logged(logged) -> None:  # type: ignore[no-untyped-def]
    answer = json.loads(logged("assess", str(BAR), "--set", "material=petg", "--json", code=1).output)
    assert any("Because you logged 2 load tests of petg" in line for line in answer["because_logged"])


def test_export_import_check_backup(logged, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    for name in ("a.json", "a.csv"):
        file, other = str(tmp_path / name), str(tmp_path / f"{name}.db")
        logged("log", "export", file)
        logged("log", "export", file, code=2)
        first = json.loads(logged("log", "import", file, "--store", other, "--json").output)
        again = json.loads(logged("log", "import", file, "--store", other, "--json").output)
        assert (first["added"], again["added"], again["already_here"]) == (7, 0, 7)
        logged("log", "check", "--store", other)
    copy = tmp_path / "copy.db"
    logged("log", "backup", str(copy))
    assert "sound" in logged("log", "check", "--store", str(copy)).output
    with sqlite3.connect(copy) as connection:
        connection.execute("UPDATE summary SET count = 9")
    assert "do not match" in logged("log", "check", "--store", str(copy), code=1).output
    assert "sound" in logged("log", "check", "--repair", "--store", str(copy)).output


def test_an_import_with_a_fault_takes_nothing(logged, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "a.json"
    logged("log", "export", str(file))
    content = json.loads(file.read_text())
    content["observations"][0]["measured_mm"] = "13.92 in"
    file.write_text(json.dumps(content))
    other = str(tmp_path / "other.db")
    report = logged("log", "import", str(file), "--store", other, code=2).output
    assert "observations[0], measured_mm" in report and "Nothing was taken in" in report
    assert "Taken in: 6" in logged("log", "import", str(file), "--store", other, "--leave-out-refused").output


def test_the_interview(logged) -> None:  # type: ignore[no-untyped-def]
    typed = "exploded\nwarped\n\n39 g\n\n\n\n\n\n"
    result = logged("log", "ask", "pa", typed=typed)
    assert "is not known" in result.output
    shown = json.loads(logged("log", "show", "pa", "--json").output)
    assert [item["kind"] for item in shown["observations"]][-2:] == ["event", "mass"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("log", "list"), "there is no log yet"),
        (("log", "observe", "pzz", "--mass", "5 g"), "no such entry"),
        (("log", "print", "no such file"), "there is no such file"),
        (("log", "print", str(BAR), "--set", "walls"), "is no setting"),
        (("log", "print", str(BAR), "--as", "suggested", "--set", "walls=3"), "cannot be combined"),
        (("log", "print", str(BAR), "--as", "prettiest"), "none of the options"),
        (("log", "print", str(BAR), "--id", "x"), "--id: 'x' is no id of a print. Such an id is a p"),
        (("log", "print", str(BAR), "--id", "o12345"), "leave --id out, and a fresh one is made"),
        (("log", "export", "a.txt"), "must end in .json or .csv"),
        (("log", "import", "no such file"), "cannot be read"),
        (("sizes", "--material", "mud"), "not a known material"),
        (("sizes", "--material", "petg", "--slot", "14 kg"), "not a length"),
        (("sizes", "--material", "petg", "--axis", "w"), "is no axis"),
        (("learned",), "there is no log yet"),
    ],
)
def test_bad_input_gets_one_message(run, words: tuple[str, ...], message: str) -> None:  # type: ignore[no-untyped-def]
    result = run(*words, code=2)
    assert message in result.output + (result.stderr or "")
    assert "Traceback" not in result.output


def test_nothing_is_written_when_one_text_is_wrong(logged) -> None:  # type: ignore[no-untyped-def]
    before = logged("log", "show", "pa", "--json").output
    logged("log", "observe", "pa", "--mass", "5 g", "--time", "a while", code=2)
    assert logged("log", "show", "pa", "--json").output == before


def test_help_of_every_command_has_an_example() -> None:
    for words in (["learned"], ["sizes"], ["diagnose"], *(["log", name] for name in LOG_COMMANDS)):
        assert "Example: partduty" in CliRunner().invoke(app, [*words, "--help"]).output, words


LOG_COMMANDS = (
    "print", "observe", "ask", "list", "show", "amend", "void", "export", "import", "check", "backup",
)  # fmt: skip


def test_help_stays_light() -> None:
    code = (
        "import sys; sys.argv = ['partduty', 'log', '--help']\n"
        "from recommender.cli import app; app.only = 'log'\n"
        "try: app()\nexcept SystemExit: pass\n"
        "print(sorted({'numpy', 'scipy', 'sqlite_utils', 'pandas'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_a_newer_log_stops_every_command(logged, path: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    newer = tmp_path / "newer.db"
    shutil.copy(path, newer)
    with sqlite3.connect(newer) as connection:
        connection.execute("PRAGMA user_version = 99")
    before = newer.read_bytes()
    for words in (("log", "list"), ("log", "observe", "pa", "--mass", "5 g"), ("learned",), ("log", "check")):
        result = logged(*words, "--store", str(newer), code=2)
        assert "newer version" in result.output + (result.stderr or "")
    assert newer.read_bytes() == before
