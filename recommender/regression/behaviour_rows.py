"""The rows of ``datasets/behaviour/``: what happens to plastics beyond the short-term strength of a bar."""

from __future__ import annotations

from pathlib import Path

import yaml

from recommender.errors import DatasetError
from recommender.regression.tables import Table, datasets_folder, described, read_table

TOPICS = (
    "ageing",
    "creep",
    "dimensions",
    "failures",
    "fatigue",
    "fracture_joints",
    "impact",
    "interlayer",
    "temperature",
)


def load_behaviour(topic: str, folder: Path | None = None) -> Table:
    """The rows of one topic as columns: floats with NaN, or words with "", where the source is silent.

    Parameters
    ----------
    topic : str
        One of ``TOPICS``.
    folder : Path, optional
        Folder with the tables; ``datasets/behaviour`` of the source tree if left out.

    Raises
    ------
    DatasetError
        Unknown topic, a missing file, a cell that does not fit its description, or an unknown source.
    """
    if topic not in TOPICS:
        raise DatasetError(f"{topic!r} is not a topic of behaviour; there are {', '.join(TOPICS)}.")
    folder = datasets_folder() / "behaviour" if folder is None else folder
    table = read_table(folder / f"{topic}.csv", described(folder)["columns"])
    unknown = sorted(set(table["source"].tolist()) - set(load_sources(folder)))
    if unknown:
        raise DatasetError(f"{topic}.csv: no entry in sources.yaml for {', '.join(unknown)}.")
    return table


def load_sources(folder: Path | None = None) -> dict[str, dict[str, str]]:
    """Citation, doi and address of every source by key."""
    folder = datasets_folder() / "behaviour" if folder is None else folder
    with (folder / "sources.yaml").open(encoding="utf-8") as file:
        sources: dict[str, dict[str, str]] = yaml.safe_load(file)
    return sources
