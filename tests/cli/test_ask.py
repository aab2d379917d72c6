"""``partduty ask`` as a process: answers on standard input, Ctrl-C, files that exist."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from recommender.duty.reading import read_duty

ROOT = Path(__file__).resolve().parents[2]
ANSWERS = [
    "pull", "60 N", "", "95 °F", "", "", "sustained", "", "floor", "nuisance", "no",
    "rake: hook #1", 'Holds a "rake" in the shed.', "hook", "14 mm", "1/2 in", "18 mm", "45 mm", "", "no",
    "no", "humid", "", "no", "none", "none", "none", "none", "none", "", "no", "", "self", "known_type", "", "", "",
]  # fmt: skip


def ask(folder: Path, *arguments: str, answers: list[str] | bytes) -> subprocess.CompletedProcess[bytes]:
    given = answers if isinstance(answers, bytes) else ("\n".join(answers) + "\n").encode()
    return subprocess.run(
        [sys.executable, "-m", "recommender.cli", "ask", *arguments],
        cwd=folder, input=given, capture_output=True, timeout=60,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"},
    )  # fmt: skip


def test_answers_become_a_sheet_that_reads_back(tmp_path: Path) -> None:
    done = ask(tmp_path, "--out", "hook.yaml", answers=ANSWERS)
    assert done.returncode == 0, done.stderr.decode()
    assert "Next: partduty suggest hook.yaml" in done.stdout.decode()
    duty = read_duty(tmp_path / "hook.yaml")
    assert (duty.part, duty.purpose) == ("rake: hook #1", 'Holds a "rake" in the shed.')
    assert duty.form.depth == pytest.approx(12.7) and duty.loads[0].duration_s == 5 * 31556952
    assert duty.place.peak_temperature == pytest.approx(35) and duty.place.water == "humid"
    text = (tmp_path / "hook.yaml").read_text(encoding="utf-8")
    assert "1/2 in" in text and "# size in the plane of the bend" in text
    assert [path.name for path in tmp_path.iterdir()] == ["hook.yaml"]


def test_the_name_of_the_file_is_asked_for_and_made_of_the_part(tmp_path: Path) -> None:
    done = ask(tmp_path, answers=[*ANSWERS, ""])
    assert done.returncode == 0
    assert read_duty(tmp_path / "rake-hook-1.yaml").form.kind == "hook"


def test_a_file_that_exists_is_kept_without_consent(tmp_path: Path) -> None:
    kept = tmp_path / "hook.yaml"
    kept.write_text("mine", encoding="utf-8")
    done = ask(tmp_path, "--out", "hook.yaml", answers=[*ANSWERS, "", "other.yaml"])
    assert done.returncode == 0 and kept.read_text(encoding="utf-8") == "mine"
    assert (tmp_path / "other.yaml").exists()
    assert ask(tmp_path, "--out", "hook.yaml", answers=[*ANSWERS, "yes"]).returncode == 0
    assert read_duty(kept).form.kind == "hook"


@pytest.mark.parametrize("count", [0, 1, 5, 20, len(ANSWERS) - 1])
def test_answers_that_end_early_leave_nothing(tmp_path: Path, count: int) -> None:
    given = "".join(f"{line}\n" for line in ANSWERS[:count]).encode()
    done = ask(tmp_path, "--out", "hook.yaml", answers=given)
    assert done.returncode == 2 and b"error: answers: they end before the last question" in done.stderr
    assert not list(tmp_path.iterdir())


def test_answers_that_are_no_text(tmp_path: Path) -> None:
    done = ask(tmp_path, "--out", "hook.yaml", answers=b"pull\n\xff\xfe\n")
    assert done.returncode == 2 and b"not UTF-8" in done.stderr and b"Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("out", "words"),
    [("none/hook.yaml", b"its folder does not exist"), (".", b"ends in .yaml"), ("hook.txt", b"Write hook.yaml"),
     ("folder.yaml", b"not an ordinary file"), ("x" * 300 + ".yaml", b"cannot be used")],
)  # fmt: skip
def test_a_file_that_cannot_be_written_is_said_before_the_first_question(
    tmp_path: Path, out: str, words: bytes
) -> None:
    (tmp_path / "folder.yaml").mkdir()
    done = ask(tmp_path, "--out", out, answers=ANSWERS)
    assert done.returncode == 2 and words in done.stderr and b"Traceback" not in done.stderr
    assert b"What pulls" not in done.stdout


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
