"""Repeated load: printed PLA, moulded plastics, printed structure against bulk."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from recommender.regression.fits.entries import (
    Entries,
    Entry,
    Tables,
    entry,
    log_spread,
    picked,
    sources_of,
)
from recommender.regression.small_samples import (
    Spread,
    Vector,
    geometric_mean,
    next_value,
    straight_line,
)
from recommender.regression.tables import Table


def fatigue_of_prints(tables: Tables) -> Entries:
    """Slope, level, infill and notch effect of printed PLA, all from one paper with bars of one machine."""
    rows = picked(tables.behaviour["fatigue"], quantity="stress_range", material="PLA", made="printed")
    plain = picked(rows, notch="plain")
    solid = picked(plain, infill_percent=100.0)
    entries = {
        "fatigue_slope/PLA/printed": entry(
            geometric_mean(1 / solid["inverse_slope"]),
            solid,
            "1",
            "mean",
            "b in S = S1 N^-b, solid bars; sparse bars fall faster (see fatigue_slope/PLA/sparse).",
        ),
        "fatigue_slope/PLA/sparse": entry(
            geometric_mean(1 / plain["inverse_slope"][plain["infill_percent"] < 100]),
            plain.where(plain["infill_percent"] < 100),
            "1",
            "mean",
        ),
        "fatigue_life_scatter/PLA": entry(
            geometric_mean(plain["scatter_ratio"]), plain, "1", "mean", "Stress at 10 over 90 % survival."
        ),
    }
    return entries | _fatigue_fraction(tables, solid) | _fatigue_infill(plain) | _fatigue_notch(rows)


def _fatigue_fraction(tables: Tables, solid: Table) -> Entries:
    """Peak stress at a number of cycles over the strength of printed PLA (other bars than those cycled)."""
    coupons = tables.coupons
    keep = (coupons["material"] == "PLA") & (coupons["filler"] == "none") & (coupons["test"] == "tension")
    keep &= (coupons["load_direction"] == "along") & (coupons["treatment"] == "train")
    static = coupons.where(keep)
    return {
        f"fatigue_fraction/PLA/R{ratio:g}/1e{power}": _fraction(
            picked(solid, stress_ratio=ratio), 10.0**power, static
        )
        for ratio in (-1.0, 0.1)
        for power in (4, 5, 6)
    }


def _fraction(rows: Table, cycles: float, static: Table) -> Entry:
    peak, strength = np.log(_peak_stress(rows, cycles)), np.log(static["strength_mpa"])
    life = np.log(rows["scatter_ratio"].mean()) / (2 * 1.2816)  # 10 to 90 % spans 2 x 1.2816 deviations
    spread = log_spread(float(peak.mean() - strength.mean()), life**2 + strength.var(ddof=1), len(rows))
    note = (
        f"Peak stress of the cycle over short-term strength of other printed PLA ({len(strength)} rows): "
        "the strength of the cycled bars was not seen."
    )
    made = entry(spread, rows, "1", "one further bar and spool", note)
    return replace(made, grade="B", sources=(*made.sources, *sources_of(static)), basis="fitted")


def _peak_stress(rows: Table, cycles: float) -> Vector:
    """Peak stress of the cycle at `cycles`: range / (1 - R), carried along the slope."""
    stress_range = rows["value"] * (rows["cycles"] / cycles) ** (1 / rows["inverse_slope"])
    return np.asarray(stress_range / (1 - rows["stress_ratio"]), dtype=float)


def _fatigue_infill(plain: Table) -> Entries:
    """Exponent m of (infill share)^m, the fatigue stress over that of the solid bar, gross section."""
    shares: list[float] = []
    ratios: list[float] = []
    for ratio, raster in {(r["stress_ratio"], r["raster_deg"]) for r in plain.rows()}:
        rows = picked(plain, stress_ratio=ratio, raster_deg=raster)
        solid = float(rows["value"][rows["infill_percent"] == 100][0])
        sparse = rows["infill_percent"] < 100
        shares.extend(np.log(rows["infill_percent"][sparse] / 100))
        ratios.extend(np.log(rows["value"][sparse] / solid))
    x, y = np.array(sorted(zip(shares, ratios, strict=True))).T
    exponents = y / x
    weight = x**2
    middle = float((weight * exponents).sum() / weight.sum())
    error = float(np.sqrt((weight * (exponents - middle) ** 2).sum() / weight.sum() / (len(x) - 1)))
    half = 1.796 * error  # Student, 11 degrees of freedom
    spread = Spread(middle, middle - half, middle + half, len(x))
    note = "Through the solid bar; walls of these bars unknown, so use it for the core only."
    return {"fatigue_infill_exponent/PLA": entry(spread, plain, "1", "mean", note)}


def _fatigue_notch(rows: Table) -> Entries:
    """Plain over notched stress range at two million cycles, solid bars; limits: the two stress ratios."""
    solid = picked(rows, infill_percent=100.0, raster_deg="0/90")
    entries: Entries = {}
    for notch, radius in (("v", 0.0), ("u", 1.0), ("u", 3.0)):
        cut = picked(solid, notch=notch, notch_radius_mm=radius)
        factors = []
        for ratio, value in zip(cut["stress_ratio"], cut["value"], strict=True):
            smooth = picked(solid, notch="plain", stress_ratio=ratio)
            factors.append(float(smooth["value"][0] / value))
        middle = float(np.exp(np.mean(np.log(factors))))
        spread = Spread(middle, min(factors), max(factors), len(factors))
        name = "sharp" if radius == 0 else f"radius_{radius:g}_mm"
        entries[f"fatigue_notch_factor/PLA/{name}"] = entry(spread, cut, "1", "range over R -1 and 0.1")
    return entries


def fatigue_of_mouldings(tables: Tables) -> Entries:
    """Slope and level at a million cycles of moulded plastics, bending, R = -1."""
    rows = picked(tables.behaviour["fatigue"], quantity="stress_amplitude", derived="no")
    entries: Entries = {}
    for material, filler, percent in sorted(
        {(r["material"], r["filler"], _percent(r["filler_percent"])) for r in rows.rows()}
    ):
        mine = rows.where(
            (rows["material"] == material)
            & (rows["filler"] == filler)
            & (np.nan_to_num(rows["filler_percent"]) == percent)
        )
        if len(mine) < 3:
            continue
        line = straight_line(np.log10(mine["cycles"]) - 6, np.log10(mine["value"]))
        slope, level = line.slope_interval(), line.at(0.0)
        name = f"{material}/{filler}{f'_{percent:g}' if percent else ''}"
        entries[f"moulded_fatigue_slope/{name}"] = entry(
            Spread(-slope.value, -slope.high, -slope.low, slope.count), mine, "1", "mean"
        )
        entries[f"moulded_fatigue_amplitude_1e6/{name}"] = entry(
            Spread(10**level.value, 10**level.low, 10**level.high, level.count),
            mine,
            "MPa",
            "mean",
            "30 Hz: self-heating is in it. A print carries less.",
        )
    return entries


def _percent(value: float) -> float:
    return float(np.nan_to_num(value))


def fatigue_of_printed_structure(tables: Tables) -> Entries:
    """How much less stress a printed ABS structure carries than bulk ABS at equal life."""
    rows = picked(tables.behaviour["fatigue"], quantity="fatigue_reduction_of_structure")
    spread = next_value(rows["value"])
    return {"fatigue_print_over_bulk/ABS": entry(_inverse(spread), rows, "1", "one further level")}


def _inverse(spread: Spread) -> Spread:
    return Spread(1 / spread.value, 1 / spread.high, 1 / spread.low, spread.count)
