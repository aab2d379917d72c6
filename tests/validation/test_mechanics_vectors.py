"""Every printed value of the validation vectors, through the public functions of the mechanics."""

from __future__ import annotations

import math

import pytest
import table
from vector_formulas import FORMULAS

COMPARISONS = list(table.comparisons())


@pytest.mark.parametrize("item", COMPARISONS, ids=lambda item: f"{item.vector}-{item.quantity}")
def test_printed_value(item: table.Comparison) -> None:
    # Five significant digits are printed, so the tolerance is half of the last one; 1e-9 for rounding.
    if isinstance(item.published, str):
        assert item.ours == item.published
    else:
        assert abs(item.ours - item.published) <= item.tolerance * (1 + 1e-9)


def test_no_vector_is_left_out_and_no_formula_without_vector() -> None:
    vectors = table.read_vectors()
    assert len(vectors) == 112
    assert {vector["id"] for vector in vectors} == set(FORMULAS)
    assert len(COMPARISONS) == sum(len(vector["expected"]) for vector in vectors) == EXPECTED_QUANTITIES


EXPECTED_QUANTITIES = 354

INACTIVE = {
    "screw_pullout_printed.tau_infill_MPa",  # the ring is thicker than the thread is deep
    "screw_pullout_printed.t_ring_mm",
    "min_layer_time.t_layer_s",  # the minimum governs
}


def test_every_vector_names_source_and_grade() -> None:
    for vector in table.read_vectors():
        assert vector["source"]
        assert vector["checked_against"]
        assert vector["grade"] in {"A", "B", "C", "derived", "computed"}


def test_every_input_matters() -> None:
    """Changing any number of a vector changes some quantity: no input is silently ignored."""
    ignored = []
    for vector in table.read_vectors():
        before = FORMULAS[vector["id"]](vector["inputs"])
        for name, value in vector["inputs"].items():
            if not isinstance(value, (int, float)):
                continue
            after = FORMULAS[vector["id"]]({**vector["inputs"], name: value * 1.37 + 0.013})
            if all(before[q] == after[q] for q in vector["expected"]):
                ignored.append(f"{vector['id']}.{name}")
    assert set(ignored) == INACTIVE


def test_the_tolerance_is_half_of_the_fifth_digit() -> None:
    item = table.Comparison("x", "y", "z", 0.13209, 0.13209)
    assert item.tolerance == pytest.approx(5e-6)
    assert table.Comparison("x", "y", "z", 104030.0, 0.0).tolerance == pytest.approx(5.0)
    assert not math.isclose(item.difference, 1e-4, abs_tol=1e-5)


def test_the_table_has_a_line_per_quantity() -> None:
    lines = table.markdown().splitlines()
    assert len(lines) == len(COMPARISONS) + 2
    assert all(line.count("|") == 6 for line in lines)


def test_the_short_table_shows_the_worst_of_each_vector() -> None:
    worst = {item.vector: item for item in table.worst_of_each()}
    assert set(worst) == set(FORMULAS)
    for item in COMPARISONS:
        if not isinstance(item.published, str):
            assert abs(item.difference) <= abs(worst[item.vector].difference)
    assert len(table.markdown(short=True).splitlines()) == 112 + 2
