"""The rivals and the comparison: each is what it says, none sees the rows it predicts."""

from __future__ import annotations

import warnings
from dataclasses import replace

import numpy as np
import pytest

from kb.loading import load_knowledge_base
from recommender.regression.coupons import load_coupons
from recommender.regression.scores import load_held_out
from recommender.regression.training.comparison import (
    comparison_text,
    floor_text,
    held_out_columns,
    same_study_other_spools,
    study_known_text,
    summary,
    terms_text,
)
from recommender.regression.training.evidence import Evidence
from recommender.regression.training.held_out import HeldOut, by_rival
from recommender.regression.training.rivals import RIVALS, material_mean, mechanics_alone
from recommender.regression.training.selection import VARIANTS, WITH_THE_SECTION
from recommender.regression.training.spools import over_draws, spools_of


@pytest.fixture(scope="module")
def evidence() -> Evidence:
    return Evidence(load_coupons(), load_knowledge_base())


def test_material_mean_is_the_mean_of_the_other_studies(evidence: Evidence) -> None:
    rows = evidence.all
    pulled = (rows.bars.material == "petg") & ~rows.bars.across & (rows.bars.test == "tension")
    test = pulled & (rows.fold == "cope2019")
    train = rows.fitted & (rows.fold != "cope2019")
    expected = rows.log_measured[pulled & train].mean()
    assert material_mean(rows.where(train), rows.where(test)) == pytest.approx(np.full(test.sum(), expected))


def test_material_mean_falls_back_to_kin_and_then_to_the_direction(evidence: Evidence) -> None:
    rows = evidence.all
    alone = rows.bars.material == "pei"
    train = rows.fitted & ~alone
    found = material_mean(rows.where(train), rows.where(alone & ~rows.bars.across))
    assert found == pytest.approx(np.full(len(found), rows.log_measured[train & ~rows.bars.across].mean()))


@pytest.mark.parametrize("name", ["Bayesian ridge", "Gaussian process", "gradient boosting"])
def test_learners_correct_the_mechanics_without_the_answers(evidence: Evidence, name: str) -> None:
    """The rows to predict may change their strengths: nothing moves. And an invented offset is learned."""
    rows = evidence.all
    here = rows.fold == "valencia_cuenca_abs"
    train, test = rows.where(rows.fitted & ~here), rows.where(here)
    shifted = replace(train, target=np.zeros(len(train)) + 0.3)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = RIVALS[name](shifted, test)
        again = RIVALS[name](shifted, replace(test, target=test.target + 1.0))
    assert np.array_equal(found, again)
    assert found == pytest.approx(mechanics_alone(train, test) + 0.3, abs=0.02)


def test_columns_and_text_tell_the_same_figures(evidence: Evidence) -> None:
    found = {name: by_rival(name, evidence, RIVALS[name]) for name in ("mechanics alone", "material mean")}
    plain = found["mechanics alone"]
    found["hierarchical linear"] = HeldOut(
        "hierarchical linear", plain.log_strength, np.full(len(evidence.all), 0.3)
    )
    columns = held_out_columns(evidence, found)
    assert columns["predicted_mpa"] == columns["mechanics_mpa"]
    assert columns["row"] == load_held_out()["row"].tolist()
    told = summary(columns)["all bars that are fitted"]
    assert told["median_error"] == told["mechanics_median"]
    assert f"{told['mechanics_median']:.1%}" in comparison_text(evidence, found)
    assert "along" in floor_text(evidence, found)


def test_terms_are_compared_from_the_simplest_on(evidence: Evidence) -> None:
    lines = [line.split("  ")[0] for line in terms_text(evidence).splitlines()[2:]]
    assert lines == [*VARIANTS, *WITH_THE_SECTION]


def test_a_constant_offset_of_a_study_is_taken_out_whole(evidence: Evidence) -> None:
    """Synthetic: predictions that are right but for one factor per study leave no error once it is known."""
    rows = evidence.all
    factor = {fold: 0.1 * (i % 5 - 2) for i, fold in enumerate(np.unique(rows.fold))}
    made_up = rows.log_measured + [factor[fold] for fold in rows.fold.tolist()]
    held = HeldOut("hierarchical linear", np.asarray(made_up), np.full(len(rows), 0.3))
    told = study_known_text(evidence, {"hierarchical linear": held})
    assert told.endswith("known 0.0%.")
    assert "less than 0.0%" not in told


def test_the_floor_leaves_the_spool_itself_out(evidence: Evidence) -> None:
    rows, floor = evidence.all, same_study_other_spools(evidence)
    i = int(
        np.flatnonzero((rows.fold == "carter2025") & (rows.bars.material == "petg") & ~rows.bars.across)[0]
    )
    others = (
        (rows.fold == "carter2025") & (rows.bars.material == "petg") & ~rows.bars.across & rows.fitted
        & (rows.spool != rows.spool[i])
    )  # fmt: skip
    assert floor.log_strength[i] == pytest.approx(rows.log_measured[others].mean())


def test_three_bars_of_a_spool_teach_and_the_draw_is_seeded(evidence: Evidence) -> None:
    spools = spools_of(evidence, "carter2025")
    told = over_draws(spools, 20)
    assert told == over_draws(spools, 20)
    assert told["median_error_all"] < 0.5 * told["median_error_before"]
    assert told["median_error_along"] < 0.08
