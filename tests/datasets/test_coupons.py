"""The table of measured bars holds what its description promises."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from recommender.errors import DatasetError
from recommender.regression.coupons import TREATMENTS, Coupons, fitted, load_coupons, load_pulls, usable
from recommender.regression.tables import datasets_folder, described, read_table

FOLDER = datasets_folder() / "coupons"
ABOUT = described(FOLDER)


@pytest.fixture(scope="module")
def coupons() -> Coupons:
    return load_coupons()


def test_counts_and_sums_are_those_pinned(coupons: Coupons) -> None:
    table = read_table(FOLDER / "coupons.csv", ABOUT["columns"])
    assert len(table) == ABOUT["checks"]["rows"]
    sums = {k: round(float(np.nansum(v)), 3) for k, v in table.columns.items() if v.dtype == float}
    assert sums == pytest.approx(ABOUT["checks"]["column_sums"], abs=2e-3)
    for study, (rows, strength) in ABOUT["checks"]["rows_and_strength_sum_by_study"].items():
        mine = coupons["study"] == study
        assert mine.sum() == rows, study
        assert np.nansum(coupons["strength_mpa"][mine]) == pytest.approx(strength, abs=0.006), study


def test_the_first_compilation_arrived_whole(coupons: Coupons) -> None:
    # Rows and sum of strengths of four studies, added up in the lists and files that they were taken from.
    for study, rows, strength in [
        ("kuznetsov2018", 20, 925.1),
        ("carter2025", 93, 3092.19 + 481.49),
        ("cope2019", 25, 1411.01),
        ("selcuk2018", 50, 1004.0),
    ]:
        mine = coupons["study"] == study
        assert mine.sum() == rows
        assert np.nansum(coupons["strength_mpa"][mine]) == pytest.approx(strength, abs=0.05)


def test_every_study_has_rows_and_a_reason(coupons: Coupons) -> None:
    assert set(coupons.studies) == set(coupons["study"].tolist())
    for study in coupons.studies.values():
        assert study.citation and study.reason and study.worth, study.key
        assert study.fold in coupons.studies, study.key


def test_row_keys_are_unique_and_begin_with_the_study(coupons: Coupons) -> None:
    keys = coupons["row"].tolist()
    assert len(set(keys)) == len(keys)
    assert all(
        key.startswith(study + "_") for key, study in zip(keys, coupons["study"].tolist(), strict=True)
    )


def test_no_row_is_treated_more_leniently_than_its_study(coupons: Coupons) -> None:
    for row in coupons.rows():
        study = coupons.studies[row["study"]]
        assert TREATMENTS.index(row["treatment"]) >= TREATMENTS.index(study.treatment), row["row"]


def test_rules_of_treatment_hold(coupons: Coupons) -> None:
    extreme = coupons.where(coupons["case"] == "extreme")
    assert "train" not in extreme["treatment"]
    silent = coupons.where(np.isnan(coupons["strength_mpa"]) | (coupons["material"] == "unknown"))
    assert set(silent["treatment"].tolist()) == {"excluded"}
    assert np.isfinite(usable(coupons)["strength_mpa"]).all()
    assert set(fitted(coupons)["treatment"].tolist()) == {"train", "weigh_down"}


def test_sections_taken_from_a_standard_are_that_standards(coupons: Coupons) -> None:
    for row in coupons.where(coupons["section_source"] == "standard").rows():
        assert [row["width_mm"], row["thickness_mm"]] == ABOUT["standard_sections_mm"][row["standard"]], row[
            "row"
        ]


def test_a_section_says_where_it_comes_from(coupons: Coupons) -> None:
    known = np.isfinite(coupons["area_mm2"])
    assert (coupons["section_source"][known] != "").all()
    assert (coupons["section_source"][~known & np.isnan(coupons["width_mm"])] == "").all()


def test_area_times_strength_is_the_load_where_all_three_are_stated(coupons: Coupons) -> None:
    told = coupons.where((coupons["test"] == "tension") & np.isfinite(coupons["load_n"]))
    ratio = told["strength_mpa"] * told["area_mm2"] / told["load_n"]
    assert np.isfinite(ratio).sum() >= 3
    assert np.nanmax(np.abs(ratio - 1)) < 0.02  # the loads are printed to two or three figures


def test_upright_bars_pulled_are_loaded_across_the_layers(coupons: Coupons) -> None:
    pulled = coupons.where((coupons["test"] == "tension") & (coupons["load_direction"] != ""))
    assert not ((pulled["orientation"] == "upright") & (pulled["load_direction"] == "along")).any()
    assert not (
        np.isin(pulled["orientation"], ["flat", "edge"]) & (pulled["load_direction"] == "across")
    ).any()


def test_single_bars_reproduce_mean_scatter_and_count(coupons: Coupons) -> None:
    pulls = load_pulls(coupons)
    assert len(pulls) == ABOUT["checks"]["pulls"]
    for i in np.unique(pulls["index"]):
        bars = pulls["strength_mpa"][pulls["index"] == i]
        assert len(bars) == coupons["n"][i]
        # Means and standard deviations are printed to two decimals, of one study to one.
        assert bars.mean() == pytest.approx(coupons["strength_mpa"][i], abs=0.06), coupons["row"][i]
        if len(bars) > 1:
            # One study divides every load by its own bar's section, the table by their mean.
            own_sections = coupons["study"][i] == "kohinkar2026"
            told = coupons["strength_sd_mpa"][i]
            assert bars.std(ddof=1) == pytest.approx(told, abs=0.06, rel=0.12 if own_sections else None)


def test_scatter_is_below_half_of_the_mean(coupons: Coupons) -> None:
    spread = coupons["strength_sd_mpa"] / coupons["strength_mpa"]
    assert np.nanmax(spread) < 0.55  # the widest bar of one spool across the layers: 8.07 on 15.12 MPa


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (",PLA,", ",PLA,,", "cells"),
        ("tension", "tensile", "tensile"),
        ("kuznetsov2018,", "nobody1900,", "nobody1900"),
        (",0.15,", ",15,", "outside"),
        ("row,study", "row,studies", "header"),
    ],
)
def test_a_slip_is_named(tmp_path: Path, old: str, new: str, message: str) -> None:
    folder = shutil.copytree(FOLDER, tmp_path / "coupons")
    text = (folder / "coupons.csv").read_text(encoding="utf-8")
    (folder / "coupons.csv").write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DatasetError, match=message):
        load_coupons(folder)


def test_a_missing_table_is_one_message(tmp_path: Path) -> None:
    with pytest.raises(DatasetError, match=r"about\.yaml"):
        load_coupons(tmp_path)
