"""The commands on model files, as a user meets them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from recommender.cli import app

MODELS = Path(__file__).resolve().parents[2] / "datasets" / "models"


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("shelf_bracket.stl", 0),
        ("calibration_plate.stl", 1),
        ("flaw_not_a_number.stl", 2),
        ("flaw_cut_short.stl", 2),
    ],
)
def test_exit_codes_of_check(name: str, code: int) -> None:
    result = run("check", str(MODELS / name))
    assert result.exit_code == code
    assert "Traceback" not in result.output
    if code == 2:
        assert result.stderr.startswith("error: ")
        assert result.stdout == ""


def test_check_reads_well_at_80_columns() -> None:
    out = run("check", str(MODELS / "calibration_plate.stl")).stdout
    assert max(map(len, out.splitlines())) <= 80
    assert "4 gaps narrower than one line of 0.45 mm will close." in out


def test_check_for_machines() -> None:
    values = json.loads(run("check", str(MODELS / "calibration_plate.stl"), "--json").stdout)
    assert values["layers"]["count"] == 15
    assert values["fine"] is False
    assert {spot["kind"] for spot in values["spots"]} == {"vanishes", "one_line", "closes"}


def test_the_nozzle_decides() -> None:
    fine = run("check", str(MODELS / "raised_letters.stl"), "--line-width", "0.28", "--nozzle", "0.25")
    assert fine.exit_code == 0
    assert run("check", str(MODELS / "raised_letters.stl")).exit_code == 1


@pytest.mark.parametrize("option", [("--layer-height", "0"), ("--line-width", "-1"), ("--units", "ell")])
def test_wrong_options_exit_2(option: tuple[str, str]) -> None:
    result = run("check", str(MODELS / "shelf_bracket.stl"), *option)
    assert result.exit_code == 2
    assert option[0] in result.stderr
