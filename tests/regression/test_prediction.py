"""The shipped record as the engine uses it: known posteriors by hand, monotone everywhere, never silent."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from kb.design_values import engine_values
from kb.loading import load_knowledge_base
from recommender.candidates import space_for
from recommender.duty.reading import duty_from
from recommender.errors import DatasetError
from recommender.evaluation import Problem, state_results
from recommender.learned import NOTHING_LEARNED
from recommender.regression.prediction import Kind, correction
from recommender.regression.record import (
    RECORD_FILE,
    digest,
    read_record,
    record_from,
    shipped_record,
    written,
)

PLA = Kind("pla", "")
FILLED = Kind("pla", "a filler never seen")
UNSEEN = Kind("never_printed", "")

SMALL = {
    "format": 2,
    "coefficients": {"level": 0.1, "across": -0.2, "bending": 0.3, "bending_reserve": 1.0,
                     "material:pla": 0.05},
    "covariance": [[0.04], [0.01, 0.09], [0, 0, 0.01], [0, 0, 0, 0.04], [0, 0, 0, 0, 0.01]],
    "spreads": {"study": 0.3, "study_across": 0.1, "spool": 0.2, "spool_across": 0.1, "noise_along": 0.1,
                "noise_across": 0.2, "material": 0.12, "filler": 0.05, "study_filled": 0.15,
                "study_filled_across": 0.25},
    "scale": {"along": 1.0, "filled, along": 1.1, "across": 1.2, "filled, across": 1.3,
              "material:pla": 1.5},
    "seen": {"pla": {"along": 3, "across": 1, "studies": 2}},
    "layer_over_nozzle": [0.25, 0.75],
}  # fmt: skip


def test_a_posterior_worked_by_hand() -> None:
    # Along: mean 0.1 + 0.05; variance 0.04 + 0.01 of the coefficients, 0.3^2 + 0.2^2 + 0.1^2 of a new print and
    # 0.05^2 for a filler of which the record knows nothing; filled plastics differ by 0.15 more from maker to maker.
    mean, sd = correction(record_from(SMALL), [FILLED], across=False)
    assert mean[0] == pytest.approx(0.15, abs=1e-12)
    assert sd[0] == pytest.approx(
        1.5 * 1.1 * math.sqrt(0.05 + 0.09 + 0.04 + 0.01 + 0.0025 + 0.15**2), rel=1e-12
    )


def test_across_in_bending_worked_by_hand() -> None:
    # level + across + bending + 1.0 * reserve + material; covariance of level and across counts twice.
    mean, sd = correction(record_from(SMALL), [FILLED], across=True, test="bending", bending_reserve=0.4)
    assert mean[0] == pytest.approx(0.1 - 0.2 + 0.3 + 0.4 + 0.05, abs=1e-12)
    coefficients = 0.04 + 0.09 + 2 * 0.01 + 0.01 + 0.4**2 * 0.04 + 0.01
    new_print = 0.3**2 + 0.1**2 + 0.2**2 + 0.1**2 + 0.2**2 + 0.05**2 + 0.15**2 + 0.25**2
    assert sd[0] == pytest.approx(1.5 * 1.3 * math.sqrt(coefficients + new_print), rel=1e-12)


def test_columns_give_what_single_rows_give() -> None:
    reserves = np.array([[0.0, 0.1], [0.2, 0.3]])
    mean, sd = correction(record_from(SMALL), [PLA, UNSEEN], across=False, bending_reserve=reserves)
    assert mean.shape == (2, 2, 2)
    for i, j in np.ndindex(2, 2):
        one = correction(record_from(SMALL), [UNSEEN], across=False, bending_reserve=reserves[i, j])
        assert (mean[1, i, j], sd[1, i, j]) == pytest.approx((one[0][0], one[1][0]), rel=1e-12)


@pytest.mark.parametrize("across", [False, True])
def test_what_was_never_seen_is_less_sure(across: bool) -> None:
    _, known = correction(shipped_record(), [PLA], across=across)
    _, unknown = correction(shipped_record(), [UNSEEN], across=across)
    assert unknown[0] > known[0] * 1.02


def test_a_thicker_skin_never_loses_its_reserve() -> None:
    assert shipped_record().coefficient("bending_reserve") >= 0.0


BAR = {"shape": "rectangle", "width": "10 mm", "thickness": "4 mm"}
SHEETS = {
    "pulled": ({"kind": "bar", "length": "80 mm", "section": BAR}, "pull"),
    "pressed": ({"kind": "bar", "length": "20 mm", "section": BAR}, "push"),
    "bent": ({"kind": "beam", "span": "64 mm", "support": "simply_supported", "section": BAR}, "bend"),
}


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize("orientation", ["flat", "edge", "upright"])
def test_more_walls_layers_or_infill_never_weaken_any_material(name: str, orientation: str) -> None:
    """Over the whole candidate grid, with the shipped record: tension and compression of the skin.

    Axes of the grid: material, layer height, line width, walls, skins, infill, pattern. States decided by the
    skin are the ones the regression corrects; the tolerance is rounding only.
    """
    knowledge = load_knowledge_base()
    form, action = SHEETS[name]
    duty = duty_from(
        {"part": "bar", "form": form, "loads": [{"kind": "static", "action": action, "force": "9 N"}]}
    )
    values = {key: engine_values(m, knowledge) for key, m in knowledge.materials.items()}
    problem = Problem(duty, knowledge, knowledge.printers["open_medium"], values, 23.0, 23.0, NOTHING_LEARNED,
                      record=shipped_record())  # fmt: skip
    space = space_for(tuple(values), tuple(knowledge.lattices.values()), problem.printer, 0.4)
    found = 0
    for result in state_results(problem, space, orientation):
        if result.state.key in ("tension", "compression"):
            found += 1
            strength = np.broadcast_to(result.multiple, space.shape)
            for axis in (3, 4, 5):
                steps = np.diff(strength, axis=axis) / np.max(strength)
                assert steps.min() > -1e-9, f"{result.state.key}: axis {axis}"
    assert found


def test_a_correction_changes_no_limit_on_movement() -> None:
    knowledge = load_knowledge_base()
    form, action = SHEETS["bent"]
    duty = duty_from({"part": "bar", "form": form, "limits": {"deflection": "1 mm"},
                      "loads": [{"kind": "static", "action": action, "force": "9 N"}]})  # fmt: skip
    values = {"pla": engine_values(knowledge.materials["pla"], knowledge)}
    problem = Problem(duty, knowledge, knowledge.printers["open_medium"], values, 23.0, 23.0, NOTHING_LEARNED,
                      record=shipped_record())  # fmt: skip
    space = space_for(("pla",), tuple(knowledge.lattices.values()), problem.printer, 0.4)

    def moved(of: Problem) -> np.ndarray:
        return next(r.multiple for r in state_results(of, space, "flat") if r.state.key == "deflection")

    assert np.array_equal(moved(problem), moved(replace(problem, record=None)))


def test_the_record_is_text_that_reads_back() -> None:
    text = RECORD_FILE.read_text(encoding="utf-8")
    plain = json.loads(text)
    assert written(plain) == text
    assert digest(plain) == shipped_record().version
    assert len(text) < 60_000
    values = np.linalg.eigvalsh(shipped_record().covariance)
    assert values.min() > -1e-5  # rounding to six digits leaves it a covariance


def test_a_broken_record_is_a_message(tmp_path) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "record.json"
    path.write_text("{", encoding="utf-8")
    with pytest.raises(DatasetError, match="cannot be read"):
        read_record(path)
    with pytest.raises(DatasetError, match="Refit"):
        record_from({"format": 0})


def test_prediction_needs_numpy_alone() -> None:
    code = (
        "import sys; from recommender.regression.prediction import *; from recommender.regression.record import *;"
        "correction(shipped_record(), [Kind('pla', '')], across=False);"
        "print([m for m in ('scipy', 'sklearn', 'pickle5', 'joblib') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
