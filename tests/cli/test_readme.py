"""README.md shows what the program prints: the command list, and the output of the tour."""

from __future__ import annotations

import sys
from pathlib import Path

from recommender.cli import reference

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests"))

import readme_output  # noqa: E402

OPEN, CLOSE = "<!-- commands -->", "<!-- /commands -->"


def test_the_command_list_is_that_of_the_help() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert text.split(OPEN)[1].split(CLOSE)[0].strip() == reference.markdown().strip(), (
        "run: python tests/readme_output.py --write"
    )


def test_the_tour_is_what_the_commands_print() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert readme_output.refreshed(text) == text, "run: python tests/readme_output.py --write"
