"""Every shipped duty sheet can be read, and together they show every form."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from recommender.duty.forms import FORMS
from recommender.duty.reading import read_duty

FOLDER = Path(__file__).resolve().parents[2] / "datasets" / "examples"
ABOUT = yaml.safe_load((FOLDER / "about.yaml").read_text(encoding="utf-8"))
SHEETS = sorted(
    path for path in [*FOLDER.glob("*.yaml"), *FOLDER.glob("*.json")] if path.name != "about.yaml"
)


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.stem)
def test_example_is_a_complete_sheet(path: Path) -> None:
    duty = read_duty(path)
    assert path.stem == "test_bar" or (len(duty.purpose) > 40 and duty.said("people.if_it_breaks"))


def test_the_examples_cover_every_form_and_kind_of_load() -> None:
    duties = [read_duty(path) for path in SHEETS]
    assert {duty.form.kind for duty in duties} == set(FORMS)
    assert {load.kind for duty in duties for load in duty.loads} == {
        "static",
        "sustained",
        "cyclic",
        "impact",
    }


def test_three_or_more_must_be_refused_and_stand_in_the_folder() -> None:
    assert len(ABOUT["must_be_refused"]) >= 3
    assert set(ABOUT["must_be_refused"]) <= {path.name for path in SHEETS}
    assert len(SHEETS) - len(ABOUT["must_be_refused"]) >= 10


def test_refused_ones_say_who_could_be_hurt() -> None:
    for name in ABOUT["must_be_refused"]:
        assert read_duty(FOLDER / name).people.if_it_breaks in ("serious_injury", "death")


def test_examples_fit_a_page() -> None:
    for path in SHEETS:
        lines = path.read_text(encoding="utf-8").splitlines()
        assert len(lines) <= 60 and max(map(len, lines)) <= 112, path.name
