"""``partduty ask``: answers on standard input, Ctrl-C, files that exist."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from recommender.cli import app
from recommender.duty.reading import read_duty

ROOT = Path(__file__).resolve().parents[2]
ANSWERS = [
    "pull", "60 N", "", "95 °F", "", "", "sustained", "", "floor", "nuisance", "no",
    "rake: hook #1", 'Holds a "rake" in the shed.', "hook", "14 mm", "1/2 in", "18 mm", "45 mm", "", "no",
    "no", "humid", "", "no", "none", "none", "none", "none", "none", "", "no", "", "self", "known_type", "", "", "",
]  # fmt: skip


def ask(folder: Path, *arguments: str, answers: list[str] | bytes) -> Any:
    given = answers if isinstance(answers, bytes) else ("\n".join(answers) + "\n").encode()
    with contextlib.chdir(folder):
        return CliRunner().invoke(app, ["ask", *arguments], input=given)


def test_answers_become_a_sheet_that_reads_back(tmp_path: Path) -> None:
    done = ask(tmp_path, "--out", "hook.yaml", answers=ANSWERS)
    assert done.exit_code == 0, done.output
    assert "Next: partduty suggest hook.yaml" in done.stdout
    duty = read_duty(tmp_path / "hook.yaml")
    assert (duty.part, duty.purpose) == ("rake: hook #1", 'Holds a "rake" in the shed.')
    assert duty.form.depth == pytest.approx(12.7) and duty.loads[0].duration_s == 5 * 31556952
    assert duty.place.peak_temperature == pytest.approx(35) and duty.place.water == "humid"
    text = (tmp_path / "hook.yaml").read_text(encoding="utf-8")
    assert "1/2 in" in text and "# size in the plane of the bend" in text
    assert [path.name for path in tmp_path.iterdir()] == ["hook.yaml"]


def test_the_name_of_the_file_is_asked_for_and_made_of_the_part(tmp_path: Path) -> None:
    done = ask(tmp_path, answers=[*ANSWERS, ""])
    assert done.exit_code == 0
    assert read_duty(tmp_path / "rake-hook-1.yaml").form.kind == "hook"


def test_a_file_that_exists_is_kept_without_consent(tmp_path: Path) -> None:
    kept = tmp_path / "hook.yaml"
    kept.write_text("mine", encoding="utf-8")
    done = ask(tmp_path, "--out", "hook.yaml", answers=[*ANSWERS, "", "other.yaml"])
    assert done.exit_code == 0 and kept.read_text(encoding="utf-8") == "mine"
    assert (tmp_path / "other.yaml").exists()
    assert ask(tmp_path, "--out", "hook.yaml", answers=[*ANSWERS, "yes"]).exit_code == 0
    assert read_duty(kept).form.kind == "hook"


@pytest.mark.parametrize("count", [0, 1, 5, 20, len(ANSWERS) - 1])
def test_answers_that_end_early_leave_nothing(tmp_path: Path, count: int) -> None:
    given = "".join(f"{line}\n" for line in ANSWERS[:count]).encode()
    done = ask(tmp_path, "--out", "hook.yaml", answers=given)
    assert done.exit_code == 2 and "error: answers: they end before the last question" in done.stderr
    assert not list(tmp_path.iterdir())


def test_answers_that_are_no_text(tmp_path: Path) -> None:
    done = ask(tmp_path, "--out", "hook.yaml", answers=b"pull\n\xff\xfe\n")
    assert done.exit_code == 2 and "not UTF-8" in done.stderr


@pytest.mark.parametrize(
    ("out", "words"),
    [("none/hook.yaml", "its folder does not exist"), (".", "ends in .yaml"), ("hook.txt", "Write hook.yaml"),
     ("folder.yaml", "not an ordinary file"), ("x" * 300 + ".yaml", "cannot be used")],
)  # fmt: skip
def test_a_file_that_cannot_be_written_is_said_before_the_first_question(
    tmp_path: Path, out: str, words: str
) -> None:
    (tmp_path / "folder.yaml").mkdir()
    done = ask(tmp_path, "--out", out, answers=ANSWERS)
    assert done.exit_code == 2 and words in done.stderr
    assert "What pulls" not in done.stdout


@pytest.mark.skipif(os.name != "posix", reason="signals")
def test_left_with_an_interrupt_nothing_is_written(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "recommender.cli", "ask", "--out", "hook.yaml"],
        cwd=tmp_path, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"},
    )  # fmt: skip
    assert process.stdin and process.stdout
    process.stdin.write("".join(f"{line}\n" for line in ANSWERS[:12]).encode())
    process.stdin.flush()
    seen = b""
    while b"What is it for?" not in seen:
        seen += os.read(process.stdout.fileno(), 4096)
    time.sleep(0.2)
    process.send_signal(signal.SIGINT)
    _, errors = process.communicate(timeout=30)
    assert process.returncode == 130 and b"nothing was written" in errors and b"Traceback" not in errors
    assert not list(tmp_path.iterdir())


def test_a_name_that_cannot_be_written_is_asked_again(tmp_path: Path) -> None:
    done = ask(tmp_path, answers=[*ANSWERS, "none/hook.yaml", "hook.txt", "hook.yml"])
    assert done.exit_code == 0 and "its folder does not exist" in done.stdout
    assert [path.name for path in tmp_path.iterdir()] == ["hook.yml"]


def test_a_full_disk_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: Any, **__: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fdopen", full)
    done = ask(tmp_path, "--out", "hook.yaml", answers=ANSWERS)
    assert done.exit_code == 2 and "the file cannot be written (No space left on device)" in done.stderr
    assert not list(tmp_path.iterdir())
