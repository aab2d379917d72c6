"""The measured bars of ``datasets/coupons/``, as columns ready for the mechanics and the fit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from recommender.errors import DatasetError
from recommender.regression.tables import Table, datasets_folder, described, read_table

TREATMENTS = ("train", "weigh_down", "hold_out_only", "excluded")  # from lenient to strict
STUDY_KEYS = {"citation", "doi", "fold", "worth", "treatment", "reason"}


@dataclass(frozen=True)
class Study:
    """Where rows come from: `fold` joins studies of one laboratory and rig that must be held out together."""

    key: str
    citation: str
    doi: str
    fold: str
    worth: str
    treatment: str
    reason: str


@dataclass(frozen=True)
class Coupons(Table):
    """Measured conditions with a column ``fold`` added, and the studies they come from."""

    studies: Mapping[str, Study]

    def where(self, keep: Any) -> Coupons:
        """The rows for which `keep` (a mask or row numbers) holds."""
        return Coupons(super().where(keep).columns, self.studies)


def load_coupons(folder: Path | None = None) -> Coupons:
    """All rows of ``coupons.csv``, checked, with sections completed and each row's fold.

    Numbers are float arrays with NaN where the source is silent, words are str arrays with "" there.
    ``area_mm2`` is width times thickness for a rectangle that the source does not give an area for.

    Parameters
    ----------
    folder : Path, optional
        Folder with coupons.csv, studies.yaml and about.yaml; ``datasets/coupons`` if left out.

    Raises
    ------
    DatasetError
        A table is missing (an installed package carries none) or a cell does not fit its description.
    """
    folder = datasets_folder() / "coupons" if folder is None else folder
    table = read_table(folder / "coupons.csv", described(folder)["columns"])
    studies = load_studies(folder / "studies.yaml")
    unknown = sorted(set(table["study"].tolist()) - set(studies))
    if unknown:
        raise DatasetError(f"coupons.csv: no entry in studies.yaml for {', '.join(unknown)}.")
    return Coupons(_completed(table, studies), studies)


def load_studies(path: Path) -> dict[str, Study]:
    """The studies of ``studies.yaml`` by key."""
    with path.open(encoding="utf-8") as file:
        entries: dict[str, dict[str, str]] = yaml.safe_load(file)
    for key, entry in entries.items():
        if set(entry) != STUDY_KEYS or entry["treatment"] not in TREATMENTS:
            raise DatasetError(
                f"{path.name}, {key}: wants {sorted(STUDY_KEYS)} and a treatment of {TREATMENTS}."
            )
    return {key: Study(key, **entry) for key, entry in entries.items()}


def _completed(table: Table, studies: Mapping[str, Study]) -> dict[str, Any]:
    rectangle = np.isnan(table["area_mm2"]) & (table["section_shape"] == "rectangle")
    area = np.where(rectangle, table["width_mm"] * table["thickness_mm"], table["area_mm2"])
    fold = np.array([studies[key].fold for key in table["study"].tolist()], dtype=np.str_)
    return {**table.columns, "area_mm2": area, "fold": fold}


def load_pulls(coupons: Coupons, folder: Path | None = None) -> Table:
    """Single bars behind the means of `coupons`: columns row, pull, load_n, strength_mpa, index.

    ``index`` is the number of the row in `coupons`; bars of rows that `coupons` does not hold are left out.
    """
    folder = datasets_folder() / "coupons" if folder is None else folder
    table = read_table(folder / "pulls.csv", described(folder)["pull_columns"])
    place = {key: i for i, key in enumerate(coupons["row"].tolist())}
    table = table.where(np.isin(table["row"], list(place)))
    index = np.array([place[key] for key in table["row"].tolist()], dtype=int)
    strength = table["load_n"] / coupons["area_mm2"][index]
    return Table({**table.columns, "strength_mpa": strength, "index": index})


def usable(coupons: Coupons) -> Coupons:
    """The rows that may be predicted: not excluded, with a strength."""
    return coupons.where((coupons["treatment"] != "excluded") & np.isfinite(coupons["strength_mpa"]))


def fitted(coupons: Coupons) -> Coupons:
    """The rows that may be fitted: trained or weighed down."""
    return coupons.where(np.isin(coupons["treatment"], ["train", "weigh_down"]))
