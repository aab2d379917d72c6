"""The main job through the command line, in a real process."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path

import pytest

BAR = """part: test bar
form: {kind: bar, length: 80 mm, section: {shape: rectangle, width: 10 mm, thickness: 4 mm}}
loads: [{kind: static, action: pull, force: 500 N}]
"""


def run(*arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "recommender.cli", *arguments],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip


@pytest.fixture
def bar(tmp_path: Path) -> Path:
    sheet = tmp_path / "bar.yaml"
    sheet.write_text(BAR, encoding="utf-8")
    return sheet


def test_suggest_answers_the_plain_sheet(bar: Path) -> None:
    done = run("suggest", str(bar), "--json", folder=bar.parent)
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert answer["verdict"] == "suitable"
    load = answer["choice"]["failure_load"]
    assert load["unit"] == "N" and 0 < load["low"] < load["typical"] < load["high"]
    assert answer["choice"]["factor"] >= answer["choice"]["required_factor"]
    assert load["typical"] / 500 == pytest.approx(answer["choice"]["factor"], rel=1e-4)


def test_assess_of_a_solid_bar_is_strength_times_area(bar: Path) -> None:
    # A bar whose four walls of 0.5 mm meet from both sides of its 4 mm is solid: 40 mm^2 of full strength.
    done = run("assess", str(bar), "--set", "material=pla", "--set", "walls=20", "--json", folder=bar.parent)
    choice = json.loads(done.stdout)["choice"]
    # The chain of factors (strength, what room air leaves) multiplies to the strength used.
    strength = math.prod(factor["value"] for factor in choice["chain"])
    assert choice["failure_load"]["typical"] == pytest.approx(40 * strength, rel=1e-5)
    assert choice["has_core"] is False


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (("--set", "walls=two"), "walls"),
        (("--set", "walls"), "name=value"),
        (("--set", "speed=3"), "no such setting"),
        (("--set", "material=oak"), "oak"),
        (("--set", "infill_percent=140"), "140"),
        (("--set", "walls=2.5"), "whole"),
    ],
)
def test_bad_settings_are_named_and_exit_2(bar: Path, arguments: tuple[str, ...], named: str) -> None:
    done = (
        run("assess", str(bar), "--set", "material=pla", *arguments, folder=bar.parent)
        if "material=oak" not in arguments
        else run("assess", str(bar), *arguments, folder=bar.parent)
    )
    assert done.returncode == 2
    assert named in done.stderr and "Traceback" not in done.stderr
    assert done.stdout == ""


def test_a_missing_file_is_one_line(tmp_path: Path) -> None:
    done = run("suggest", str(tmp_path / "none.yaml"), folder=tmp_path)
    assert done.returncode == 2
    assert len(done.stderr.strip().splitlines()) == 1
