"""Whatever stands in a sheet, the answer is a checked sheet or one message; never a traceback.

2,000 cases in all: valid sheets with one to four faults put in, random trees, random text and bytes.
"""

from __future__ import annotations

import copy
import json
import tempfile
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from recommender.duty.forms import FORMS
from recommender.duty.loads import Load
from recommender.duty.reading import duty_from, read_duty
from recommender.duty.sheet import Duty
from recommender.errors import DutySheetError, PartdutyError

EXAMPLES = Path(__file__).resolve().parents[2] / "datasets" / "examples"
SHEETS = [
    yaml.safe_load(path.read_text(encoding="utf-8"))
    for path in sorted([*EXAMPLES.glob("*.yaml"), *EXAMPLES.glob("*.json")])
    if path.name != "about.yaml"
]
NAMES = [*Duty.model_fields, *Load.model_fields, "kind", "section", "shape", "width", "lenght", "", "<<"]

TRICKY = st.sampled_from(
    [None, True, False, 0, -1, 1, 10**30, -(10**400), 0.0, 1e308, float("nan"), float("inf"), "", " ", "0 mm",
     "-5 mm", "5", "5 N", "50 Nm", "50 mN", "5 kg", "1/0 in", "1e999 N", "mm**9999999", "5 mm**999999",
     "1,500 N",
     "450 °C", "-300 °C", "yes", "no", "1:30", "2024-05-01", "none", "[]", "{}", "\x00", "\ud7ff", "é" * 300,
     "x" * 3000, [], {}, [[]], [{}], {"kind": "hook"}, {"a": {"b": {"c": []}}}, ["5 mm"],
     "hook", "pull", b"bytes"]
)  # fmt: skip
SCALARS = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=30) | TRICKY
TREES = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(NAMES) | st.text(max_size=8), inner, max_size=4)
    ),
    max_leaves=20,
)


def places(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every path into a tree of mappings and lists."""
    steps = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [path, *(place for step, part in steps for place in places(part, (*path, step)))]


def holder_of(sheet: Any, path: tuple[Any, ...]) -> Any:
    for step in path[:-1]:
        sheet = sheet[step]
    return sheet


@st.composite
def mutated_sheets(draw: st.DrawFn) -> dict[str, Any]:
    sheet = copy.deepcopy(draw(st.sampled_from(SHEETS)))
    for _ in range(draw(st.integers(1, 4))):
        path = draw(st.sampled_from(places(sheet)[1:] or [("part",)]))
        holder, last = holder_of(sheet, path), path[-1]
        match draw(st.sampled_from(["put", "drop", "rename", "add", "tree", "kind"])):
            case "put":
                holder[last] = copy.deepcopy(draw(TRICKY))
            case "tree":
                holder[last] = copy.deepcopy(draw(TREES))
            case "drop":
                holder.pop(last, None) if isinstance(holder, dict) else holder.pop()
            case "rename" if isinstance(holder, dict):
                holder[draw(st.sampled_from(NAMES))] = holder.pop(last, None)
            case "add" if isinstance(holder, dict):
                holder[draw(st.sampled_from(NAMES))] = copy.deepcopy(draw(TRICKY))
            case "kind" if isinstance(sheet.get("form"), dict):
                sheet["form"]["kind"] = draw(st.sampled_from([*FORMS]))
    return sheet


def is_read_or_refused_in_one_line(content: Any) -> None:
    try:
        assert isinstance(duty_from(content), Duty)
    except DutySheetError as error:
        message = str(error)
        assert error.field and error.problem and error.remedy, message
        assert "\n" not in message.rstrip() and len(message) < 900, message
        assert "Traceback" not in message and "pydantic" not in message, message


@settings(max_examples=1000, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(mutated_sheets())
def test_sheets_with_faults_put_in(sheet: dict[str, Any]) -> None:
    is_read_or_refused_in_one_line(sheet)


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(st.sampled_from(NAMES) | st.text(max_size=8), TREES, max_size=8))
def test_random_trees(tree: dict[str, Any]) -> None:
    is_read_or_refused_in_one_line(tree)


def file_is_read_or_refused(content: bytes, suffix: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"sheet{suffix}"
        path.write_bytes(content)
        try:
            read_duty(path)
        except PartdutyError as error:
            assert "\n" not in str(error), str(error)


@settings(max_examples=300, deadline=None)
@given(mutated_sheets(), st.sampled_from([".yaml", ".json"]), st.data())
def test_files_with_letters_changed(sheet: dict[str, Any], suffix: str, data: st.DataObject) -> None:
    text = json.dumps(sheet, default=str, ensure_ascii=data.draw(st.booleans()))
    content = bytearray(text.encode("utf-8", "surrogatepass"))
    for _ in range(data.draw(st.integers(0, 3))):
        place = data.draw(st.integers(0, len(content) - 1))
        content[place : place + data.draw(st.integers(0, 2))] = data.draw(st.binary(max_size=2))
    file_is_read_or_refused(bytes(content), suffix)


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode), st.sampled_from([".yaml", ".json"]))
def test_random_files(content: bytes, suffix: str) -> None:
    file_is_read_or_refused(content, suffix)


@settings(max_examples=100, deadline=None)
@given(st.text(alphabet=" \n\t-:[]{}&*!|>'\"%@`#?,abc0", max_size=80).map(str.encode))
def test_random_yaml_signs(content: bytes) -> None:
    file_is_read_or_refused(content, ".yaml")


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet["part"])
def test_what_is_changed_is_first_right(sheet: dict[str, Any]) -> None:
    duty_from(sheet)
