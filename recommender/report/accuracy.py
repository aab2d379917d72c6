"""The honest table: how far predictions miss bars of studies that were held out whole."""

from __future__ import annotations

import textwrap
from dataclasses import asdict
from typing import Any

import numpy as np
from tabulate import tabulate

from kb.design_values import engine_values
from kb.loading import KnowledgeBase
from recommender.regression.prediction import Kind, ratio_across
from recommender.regression.record import Record
from recommender.regression.scores import Score, by_study, groups_of, score
from recommender.regression.tables import Table

HEAD = ["", "rows", "from", "half", "9 in 10", "in", "x/÷", "mech.", "mean"]
THREE_BARS = "three bars of the same spool"
OTHER_SPOOLS = "other spools of the same study"


def accuracy(table: Table, record: Record, knowledge: KnowledgeBase) -> dict[str, Any]:
    """Everything `partduty accuracy` tells, as plain data; errors are shares, strengths MPa."""
    groups = {name: score(part) for name, part in groups_of(table).items()}
    return {
        "model_version": record.version,
        "fitted_rows": record.plain["rows"],
        "fitted_studies": record.plain["studies"],
        "sets": {n: asdict(s) for n, s in groups.items() if not n.startswith("material ")},
        "materials": {
            n.removeprefix("material "): asdict(s) for n, s in groups.items() if n.startswith("material ")
        },
        "studies": {name: asdict(score(part)) for name, part in by_study(table).items()},
        "across_over_along": ratios(table, record, knowledge),
        "other_spools_of_the_same_study": record.held_out[OTHER_SPOOLS],
        "three_bars_of_the_same_spool": record.held_out[THREE_BARS],
    }


def ratios(table: Table, record: Record, knowledge: KnowledgeBase) -> dict[str, dict[str, Any]]:
    """Strength across over along, per material with bars across: model, sourced figure, bars of the same spool."""
    found: dict[str, dict[str, Any]] = {}
    for key in sorted(knowledge.materials):
        seen = record.seen.get(key)
        if seen is None or not seen.across:
            continue
        values = engine_values(knowledge.materials[key], knowledge)
        stated = values.interlayer_ratio
        model = ratio_across(record, Kind(key, values.filler), stated.typical)
        found[key] = {
            "low": model.low, "typical": model.typical, "high": model.high,
            "sourced": [stated.low, stated.typical, stated.high], "sources": list(stated.sources),
            "grade": stated.grade, "measured": measured_ratios(table, key),
        }  # fmt: skip
    return found


def measured_ratios(table: Table, material: str) -> list[float]:
    """Across over along of every spool pulled both ways, in order."""
    here = table.where((table["material"] == material) & (table["test"] == "tension"))
    pairs = []
    for spool in np.unique(here["spool"]):
        bars = here.where(here["spool"] == spool)
        along, across = (bars["measured_mpa"][bars["across"] == way] for way in (False, True))
        if len(along) and len(across):
            pairs.append(float(across.mean() / along.mean()))
    return sorted(pairs)


def as_text(told: dict[str, Any], with_studies: bool = False) -> str:
    """The tables at 80 columns."""
    parts = [
        _prose(
            f"Strength of bars from studies that were held out whole: the model (version "
            f"{told['model_version']}) and the knowledge base did without a study when they predicted it. "
            f"Fitted rows: {told['fitted_rows']} from {told['fitted_studies']} studies."
        ),
        _scores("set", told["sets"]),
        _scores("material", told["materials"]),
    ]
    if with_studies:
        parts.append(_scores("study", told["studies"]))
    parts += [
        _prose(
            "rows, from: sets of bars, and the studies they come from. half, 9 in 10: the error that half and "
            "nine in ten of the rows stay below, as a share of what was measured. in: share of rows inside "
            "their interval of nine in ten; x/÷: how wide it is, as a factor either way. mech., mean: the same "
            "error of half the rows for the mechanics alone, and for the mean strength of the material. section "
            "known: the source states the infill, or the bar is a tube and all wall."
        ),
        _prose(_floor(told["other_spools_of_the_same_study"])),
        "Strength across over along the layers, by material:",
        _ratio_table(told["across_over_along"]),
        _prose(
            "model: with the bounds of nine in ten new spools. sourced: low, typical and high of the knowledge "
            "base. spools: median and range over spools that were pulled both ways."
        ),
        _prose(_three_bars(told["three_bars_of_the_same_spool"])),
    ]
    return "\n\n".join(parts)


def _prose(text: str) -> str:
    return textwrap.fill(text, 80)


def _scores(what: str, scores: dict[str, dict[str, Any]]) -> str:
    lines = [_line(name, Score(**values)) for name, values in scores.items()]
    # The head as a row of its own: tabulate pads real heads beyond 80 columns.
    return tabulate(
        [[what, *HEAD[1:]], *lines],
        tablefmt="plain",
        colalign=("left", *["right"] * 8),
        disable_numparse=True,
    )


def _line(name: str, s: Score) -> list[str]:
    return [
        name[:26], f"{s.rows}", f"{s.studies}", f"{s.median_error:.0%}", f"{s.ninetieth_error:.0%}",
        f"{s.coverage:.0%}", f"{s.width:.2f}", f"{s.mechanics_median:.0%}", f"{s.mean_median:.0%}",
    ]  # fmt: skip


def _ratio_table(found: dict[str, dict[str, Any]]) -> str:
    lines = []
    for key, r in found.items():
        spools = r["measured"]
        seen = (
            f"{np.median(spools):.2f} ({spools[0]:.2f}-{spools[-1]:.2f}) of {len(spools)}" if spools else "-"
        )
        lines.append([
            key, f"{r['typical']:.2f} ({r['low']:.2f}-{r['high']:.2f})",
            f"{r['sourced'][1]:.2f} ({r['sourced'][0]:.2f}-{r['sourced'][2]:.2f}) {r['grade']}", seen,
        ])  # fmt: skip
    return tabulate(lines, ["material", "model", "sourced, grade", "spools"], disable_numparse=True)


def _floor(told: dict[str, Any]) -> str:
    sides = [
        f"{side} the layers to {t['other_spools']:.0%} (the model, which has not seen the study, to {t['model']:.0%}; "
        f"{t['rows']} rows)"
        for side, t in told.items()
    ]
    return (
        "How near one can come: the other spools of the very same study, machine and material predict a spool "
        f"{' and '.join(sides)}."
    )


def _three_bars(t: dict[str, Any]) -> str:
    low, high = t["spread_all"]
    return (
        f"When {t['given']} single bars of the same spool are known ({t['spools']} spools of {t['studies']} studies, "
        f"each held out in its turn; {t['repeats']} random draws), half of the remaining bars are missed by less than "
        f"{t['median_error_all']:.1%} (draws {low:.1%} to {high:.1%}); along the layers "
        f"{t['median_error_along']:.1%}, across {t['median_error_across']:.1%}. Before, it was "
        f"{t['median_error_before']:.1%}."
    )
