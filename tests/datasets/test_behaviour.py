"""The tables of behaviour hold what their description promises."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from recommender.errors import DatasetError
from recommender.regression.behaviour_rows import TOPICS, load_behaviour, load_sources
from recommender.regression.tables import datasets_folder, described

FOLDER = datasets_folder() / "behaviour"
ABOUT = described(FOLDER)


@pytest.mark.parametrize("topic", TOPICS)
def test_counts_and_sums_are_those_pinned(topic: str) -> None:
    table, pins = load_behaviour(topic), ABOUT["checks"][topic]
    assert len(table) == pins["rows"]
    for column in ("value", "low", "high"):
        assert np.nansum(table[column]) == pytest.approx(pins[column], abs=2e-3), column
    assert len(set(table["row"].tolist())) == len(table)


def test_the_first_compilation_arrived_whole() -> None:
    # Rows of the nine lists that the tables were made from.
    least = dict(zip(TOPICS, (40, 22, 34, 8, 168, 19, 37, 57, 70), strict=True))
    assert all(len(load_behaviour(topic)) >= rows for topic, rows in least.items())


def test_every_source_is_cited_and_used() -> None:
    used = {source for topic in TOPICS for source in load_behaviour(topic)["source"].tolist()}
    sources = load_sources()
    assert used == set(sources)
    assert all(entry["citation"] for entry in sources.values())


@pytest.mark.parametrize("topic", TOPICS)
def test_a_value_has_a_unit_and_lies_between_its_limits(topic: str) -> None:
    table = load_behaviour(topic)
    said = np.isfinite(table["value"]) | np.isfinite(table["low"]) | np.isfinite(table["high"])
    assert (table["unit"][said] != "").all()
    with np.errstate(invalid="ignore"):
        assert not (table["low"] > table["high"]).any()
        # Medians are printed to one figure less than their limits.
        assert not (table["value"] < table["low"] - 0.06).any()
        assert not (table["value"] > table["high"] + 0.06).any()


def test_fatigue_rows_carry_cycles_and_stress_ratio() -> None:
    table = load_behaviour("fatigue")
    told = table.where(np.isin(table["quantity"], ["stress_range", "peak_stress", "stress_amplitude"]))
    assert np.isfinite(told["cycles"]).all()
    assert np.isfinite(told["stress_ratio"]).all()


def test_the_bond_rows_agree_with_the_coupon_table() -> None:
    # 67.8 MPa at layer/nozzle 0.15 and 17.5 MPa at 1.0: Kuznetsov et al. 2018, table 1.
    table = load_behaviour("interlayer")
    rows = table.where(table["quantity"] == "flexural_strength_across")
    by_ratio = dict(zip((rows["layer_height_mm"] / rows["nozzle_mm"]).round(3), rows["value"], strict=True))
    assert by_ratio[0.15] == 67.8
    assert by_ratio[1.0] == 17.5


def test_derived_ratios_are_quotients_of_the_rows_they_repeat() -> None:
    # Ratios are printed to four figures (2e-4 at 4.0).
    ageing = load_behaviour("ageing")
    ageing = ageing.where(ageing["source"] == "supplier_moisture_sheets")
    checked = 0
    for row in ageing.where(ageing["derived"] == "yes").rows():
        quantity, state = row["quantity"].removesuffix("_over_dry").rsplit("_", 1)
        kin = ageing.where(
            (ageing["quantity"] == quantity)
            & (ageing["material"] == row["material"])
            & (ageing["direction"] == row["direction"])
        )
        by_state = dict(zip(kin["moisture"], kin["value"], strict=True))
        assert row["value"] == pytest.approx(by_state[state] / by_state["dry"], abs=2e-4), row["row"]
        checked += 1
    assert checked == 13  # seven of PA6/66, six of PA6 with carbon fibre


def test_an_unknown_topic_or_source_is_named(tmp_path: Path) -> None:
    with pytest.raises(DatasetError, match="colour"):
        load_behaviour("colour")
    folder = shutil.copytree(FOLDER, tmp_path / "behaviour")
    text = (folder / "creep.csv").read_text(encoding="utf-8")
    (folder / "creep.csv").write_text(text.replace("maksimov1997", "nobody1900", 1), encoding="utf-8")
    with pytest.raises(DatasetError, match="nobody1900"):
        load_behaviour("creep", folder)
