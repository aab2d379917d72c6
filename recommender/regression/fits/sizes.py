"""Holes, mass and time against forecast, failed prints."""

from __future__ import annotations

import numpy as np

from recommender.regression.fits.entries import (
    Entries,
    Entry,
    Tables,
    alone,
    entry,
    line_facts,
    picked,
    sources_of,
)
from recommender.regression.small_samples import (
    geometric_mean,
    straight_line,
)


def hole_undersize(tables: Tables) -> Entries:
    """Undersize of printed holes: a + b / diameter (mm), axis along the build direction."""
    rows = picked(tables.behaviour["dimensions"], quantity="hole_diameter_deviation")
    rows = rows.where(np.isfinite(rows["nominal_mm"]))
    line = straight_line(1 / rows["nominal_mm"], -rows["value"])
    note = "One open desktop machine, 0.4 mm lines, 3 to 10 mm; a coupon of the user's machine wins."
    entries = {"hole_undersize/line": entry(line.at(0.0), rows, "mm", "mean", note, **line_facts(line))}
    for diameter in (3.0, 5.0, 8.0, 10.0):
        spread = line.at(1 / diameter)
        entries[f"hole_undersize/{diameter:g}_mm"] = entry(spread, rows, "mm", "mean", note)
    return entries


def mass_and_time(tables: Tables) -> Entries:
    """Weighed mass and real time over forecast."""
    failures = tables.behaviour["failures"]
    mass = picked(failures, quantity="mass_over_forecast")
    time = picked(failures, quantity="time_over_forecast")
    failed = picked(failures, quantity="failed_prints_all_causes")
    return {
        "mass_over_forecast": entry(geometric_mean(mass["value"]), mass, "1", "mean", "Two cubes."),
        "time_over_forecast": Entry(
            1.2,
            1.0,
            1.5,
            "1",
            "estimate",
            len(time),
            sources_of(time),
            "C",
            "estimate",
            "One long print took at least 1.5 times its forecast; the usual value is our estimate.",
        ),
        "failed_prints": entry(
            alone(float(failed["value"][0]) / 100),
            failed,
            "1",
            "",
            "A studio of novices: an upper figure, not the rate of a machine.",
        ),
    }
