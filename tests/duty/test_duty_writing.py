"""What is written as YAML reads back as the same content, whatever stands in it."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.duty.reading import read_duty, read_mapping
from recommender.duty.reference import comments
from recommender.duty.writing import scalar, sheet_text

EXAMPLES = Path(__file__).resolve().parents[2] / "datasets" / "examples"
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)
VALUES = (
    TEXTS | st.booleans() | st.integers(-(10**20), 10**20) | st.floats(allow_nan=False, allow_infinity=False)
)


def read_back(text: str) -> dict[str, Any]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sheet.yaml"
        path.write_text(text, encoding="utf-8", newline="")
        return read_mapping(path)


@settings(max_examples=300, deadline=None)
@given(st.dictionaries(TEXTS, VALUES | st.lists(VALUES, max_size=3), min_size=1, max_size=4))
def test_any_words_and_figures_come_back(content: dict[str, Any]) -> None:
    again = read_back(sheet_text(content, dict.fromkeys(content, "a comment"), "heading\nof two lines"))
    assert again == content
    assert list(map(type, again.values())) == list(map(type, content.values()))


@pytest.mark.parametrize(
    "text",
    ["yes", "no", "true", "null", "~", "1:30", "12", "1e3", ".inf", "-", "- a", "a: b", "a #b", "#b", "&a", "*a",
     "!x", "'", '"', "[", "{", "|", ">", "%", "@", "", " a", "a ", "a\nb", "a\tb", "\x85", "\x00", "😀", "é", "\ufeff"],
)  # fmt: skip
def test_words_that_yaml_reads_otherwise(text: str) -> None:
    assert read_back(f"part: {scalar(text)}\n") == {"part": text}


@pytest.mark.parametrize(
    "path",
    sorted(path for path in EXAMPLES.glob("*.yaml") if path.name != "about.yaml"),
    ids=lambda path: path.stem,
)
def test_examples_written_again_are_the_same_sheet(path: Path, tmp_path: Path) -> None:
    content = read_mapping(path)
    form = content["form"]
    text = sheet_text(content, comments(form["kind"], form.get("section", {}).get("shape", "")))
    again = tmp_path / "again.yaml"
    again.write_text(text, encoding="utf-8")
    assert read_duty(again) == read_duty(path)
    assert yaml.safe_load(text).keys() == content.keys()  # another reader takes it too


def test_each_line_has_its_comment() -> None:
    form = {"kind": "beam", "span": "60 mm", "section": {"shape": "round", "diameter": "5 mm"}}
    text = sheet_text({"part": "x", "form": form, "loads": [{"force": "5 N"}]}, comments("beam", "round"))
    assert text.splitlines() == [
        "part: x                               # name of the part",
        "form:",
        "  kind: beam",
        "  span: 60 mm                         # between the supports; free length of a cantilever",
        "  section:",
        "    shape: round",
        "    diameter: 5 mm                    # diameter",
        "loads:",
        "  - force: 5 N                        # how hard; a hung mass may be written instead (5 kg)",
    ]
