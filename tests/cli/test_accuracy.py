"""``partduty accuracy``: what it prints is computed from the shipped predictions, and fits the page."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from recommender.cli import app
from recommender.regression.scores import load_held_out
from recommender.report.accuracy_chart import Axes

runner = CliRunner()


def test_text_fits_80_columns_and_says_the_median() -> None:
    done = runner.invoke(app, ["accuracy", "--by-study"])
    assert done.exit_code == 0
    assert max(len(line) for line in done.output.splitlines()) <= 80
    table = load_held_out()
    fitted = table.where(table["fitted"])
    median = np.median(np.abs(fitted["predicted_mpa"] / fitted["measured_mpa"] - 1.0))
    line = next(text for text in done.output.splitlines() if text.startswith("all bars that are fitted"))
    assert f"{median:.0%}" in line.split()
    assert all(study in done.output for study in np.unique(table["study"]))


def test_json_holds_every_set_material_and_ratio() -> None:
    told = json.loads(runner.invoke(app, ["accuracy", "--json"]).output)
    assert told["sets"]["all bars that are fitted"]["rows"] == told["fitted_rows"]
    assert set(told["materials"]) >= {"pla", "petg", "abs"}
    for ratio in told["across_over_along"].values():
        assert 0.0 < ratio["low"] < ratio["typical"] < ratio["high"]
        assert ratio["sources"]


def test_drawing_has_one_mark_per_bar_at_the_right_place(tmp_path: Path) -> None:
    path = tmp_path / "drawing.svg"
    assert runner.invoke(app, ["accuracy", "--svg", str(path)]).exit_code == 0
    root = ElementTree.fromstring(path.read_text(encoding="utf-8"))
    name = "{http://www.w3.org/2000/svg}"
    titled = [
        e for e in root if e.tag in (f"{name}circle", f"{name}rect") and e.find(f"{name}title") is not None
    ]
    table = load_held_out()
    assert len(titled) == int(table["fitted"].sum())


def test_axes_put_equal_strengths_on_the_diagonal() -> None:
    axes = Axes(4.0, 180.0)
    assert axes.x(50.0) - axes.x(4.0) == pytest.approx(axes.y(4.0) - axes.y(50.0))
    assert axes.y(100.0) < axes.y(50.0)


def test_a_file_that_cannot_be_written_is_a_message(tmp_path: Path) -> None:
    done = runner.invoke(app, ["accuracy", "--svg", str(tmp_path / "missing" / "drawing.svg")])
    assert done.exit_code == 2
    assert "cannot be written" in done.output
