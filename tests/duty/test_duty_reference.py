"""The field list in README.md is the one made from the models, and its examples are right."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from recommender.duty import reference
from recommender.duty.forms import FORMS, form_class

ROOT = Path(__file__).resolve().parents[2]
OPEN, CLOSE = "<!-- duty-fields -->", "<!-- /duty-fields -->"


def section() -> str:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert text.count(OPEN) == text.count(CLOSE) == 1
    return text.split(OPEN)[1].split(CLOSE)[0].strip()


def test_readme_lists_the_fields_as_they_are() -> None:
    assert section() == reference.markdown().strip(), "run: python -m recommender.duty.reference"


def test_the_module_prints_it() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "recommender.duty.reference"], cwd=ROOT, capture_output=True, check=True
    )
    assert done.stdout.decode("utf-8") == reference.markdown()


def test_every_field_has_a_meaning_an_example_and_what_it_takes() -> None:
    rows = [line for line in reference.markdown().splitlines() if line.startswith("| `")]
    assert len(rows) > 120
    for row in rows:
        cells = [cell.strip() for cell in row.strip("|").split(" | ")]
        assert len(cells) == 5 and all(cells), row
        assert cells[3] != "``", row


def test_examples_of_sizes_are_taken_by_the_reader() -> None:
    from recommender.duty.fields import Range

    for kind in FORMS:
        for name, info in form_class(kind).model_fields.items():
            span = next((each for each in info.metadata if isinstance(each, Range)), None)
            if span:
                assert span.read(reference.example(info, f"form.{name}")) > 0


def test_comments_are_those_of_the_form_at_hand() -> None:
    assert reference.comments("plate")["form.width"] == "shorter side of a rectangle"
    assert reference.comments("hook")["form.width"] == "size across the bend"
    assert "form.section.diameter" not in reference.comments("beam", "tube")
