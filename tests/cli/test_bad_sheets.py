"""``suggest`` over odd sheets: an answer or one line, exit 0, 1 or 2; never a traceback or a warning.

Warnings are errors in this suite, so a division by nought deep in the engine fails here as well.
"""

from __future__ import annotations

import json
import math
import sys
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from kb.loading import KnowledgeBase, load_knowledge_base
from recommender.cli import app
from recommender.duty.checks import MEMBER_ACTIONS
from recommender.duty.reading import duty_from
from recommender.errors import PartdutyError
from recommender.suggest import suggest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "duty"))
from test_duty_checks import SIZES
from test_duty_fuzz import mutated_sheets


def suggested(content: bytes, suffix: str) -> Any:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"sheet{suffix}"
        path.write_bytes(content)
        return CliRunner().invoke(app, ["suggest", str(path)])


def is_an_answer_or_one_line(result: Any) -> None:
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code in (0, 1, 2)
    if result.exit_code == 2:
        assert result.stderr.startswith("error: ") and result.stderr.count("\n") == 1
        assert not result.stdout


def spread(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(math.log10(low), math.log10(high)).map(lambda power: 10**power)


@st.composite
def odd_but_readable_sheets(draw: st.DrawFn) -> dict[str, Any]:
    kind = draw(st.sampled_from(sorted(SIZES)))
    form = {"kind": kind, **SIZES[kind]}
    for name, value in form.items():
        if isinstance(value, str) and value.endswith("mm") and draw(st.booleans()):
            form[name] = f"{draw(spread(0.02, 2000)):.4g} mm"
    action = draw(st.sampled_from(MEMBER_ACTIONS[kind]))
    amount = f"{draw(spread(1e-3, 9e5)):.4g} {'N·m' if action == 'twist' else 'N'}"
    load: dict[str, Any] = {"action": action, "torque" if action == "twist" else "force": amount}
    load |= draw(
        st.sampled_from(
            [{}, {"kind": "sustained"}, {"kind": "sustained", "duration": "90 years"}, {"kind": "impact"},
             {"kind": "cyclic", "cycles": 1}, {"kind": "cyclic", "cycles": 10**9, "fully_reversed": True}]
        )
    )  # fmt: skip
    usual, peak = sorted(draw(st.tuples(st.integers(-60, 400), st.integers(-60, 400))))
    return {
        "part": "x",
        "form": form,
        "loads": [load],
        "place": {"usual_temperature": f"{usual} °C", "peak_temperature": f"{peak} °C"},
        "people": {"if_it_breaks": draw(st.sampled_from(["no_harm", "nuisance", "minor_injury", "death"]))},
        "favour": draw(st.sampled_from(["balanced", "fast", "light", "cheap", "strong"])),
    }


@cache
def knowledge() -> KnowledgeBase:
    return load_knowledge_base()


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(odd_but_readable_sheets())
def test_odd_sizes_loads_and_temperatures(sheet: dict[str, Any]) -> None:
    try:
        answer = suggest(duty_from(sheet), knowledge())
    except PartdutyError as error:
        assert "\n" not in str(error)
    else:
        assert answer.verdict in ("suitable", "none", "refused")
        assert (answer.choice is not None) == (answer.verdict == "suitable")


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(mutated_sheets(), st.sampled_from([".yaml", ".json"]))
def test_sheets_with_faults(sheet: dict[str, Any], suffix: str) -> None:
    content = json.dumps(sheet, default=str).encode("utf-8", "surrogatepass")
    is_an_answer_or_one_line(suggested(content, suffix))


def test_a_folder_a_missing_file_and_an_empty_one(tmp_path: Path) -> None:
    empty = tmp_path / "empty.yaml"
    empty.touch()
    for path in (tmp_path, tmp_path / "none.yaml", empty):
        result = CliRunner().invoke(app, ["suggest", str(path)])
        is_an_answer_or_one_line(result)
        assert result.exit_code == 2
