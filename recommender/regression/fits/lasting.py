"""Sustained load, age, light, water and temperature."""

from __future__ import annotations

import numpy as np

from recommender.regression.fits.entries import (
    Entries,
    Entry,
    Tables,
    alone,
    entry,
    picked,
    sources_of,
)
from recommender.regression.small_samples import (
    Spread,
    Vector,
    geometric_mean,
)
from recommender.regression.tables import Table

ROOM_C = 23.0
WARM_C = 30.0  # tests below count as room temperature

CREEP = {
    # key: (quantity, material, hours at the start of the comparison, turned into stress left over stress)
    "PC": ("stress_relaxation_ratio_1000_h_over_1_h", 1.0, 1000.0, False),
    "PEEK": ("total_strain_over_instantaneous_elastic_strain", 0.1, 10220.0, True),
    "PP": ("creep_ratio", 0.1, 17520.0, True),
}


def creep_exponents(tables: Tables) -> Entries:
    """Exponent m of modulus(t) = modulus(1 h) t^-m between the two times that a source compares."""
    creep = tables.behaviour["creep"]
    entries: Entries = {}
    for material, (quantity, start, end, inverted) in CREEP.items():
        rows = picked(creep, quantity=quantity, material=material)
        left = 1 / float(rows["value"][0]) if inverted else float(rows["value"][0])
        exponent = -float(np.log(left) / np.log(end / start))
        note = f"Moulded or extruded, {end:g} h against {start:g} h"
        note += " (start taken as six minutes: an estimate)." if start < 1 else "."
        entries[f"creep_exponent/{material}"] = entry(alone(exponent), rows, "1", "", note)
    for limit, name in (("linear", "linear"), ("non_linear", "non_linear")):
        rows = picked(creep, quantity=f"stress_limit_of_the_{limit}_creep_model_over_strength")
        note = "Printed PETG, 5 and 20 h: up to here the creep model held, which is not a rupture limit."
        entries[f"creep_{name}_limit/PETG"] = entry(alone(float(rows["value"][0])), rows, "1", "", note)
    rows = creep.where(np.char.startswith(creep["quantity"], "sustained_fraction"))
    note = "Moulded, 1000 h, no rupture but 1.9 % strain: a strain limit governs first."
    entries["sustained_fraction/PC"] = entry(alone(float(rows["value"][0])), rows, "1", "", note)
    return entries


AGEING = (
    # key, quantity, material, filler, rule
    ("uv_c_24_h_kept/PLA", "loss_of_mechanical_properties", "PLA", "none"),
    ("uv_c_24_h_kept/PETG", "loss_of_mechanical_properties", "PETG", "none"),
    ("seawater_9_months_strength_kept/PLA", "loss_of_tensile_strength", "PLA", "recycled"),
    ("wet_strength_kept/PA/carbon_fibre", "loss_of_yield_stress_wet", "PA", "carbon_fibre"),
    ("wet_modulus_kept/PA/carbon_fibre", "loss_of_tensile_modulus_wet", "PA", "carbon_fibre"),
)


def age_and_water(tables: Tables) -> Entries:
    """Share of a property kept after light or water; the limits are those that the source states."""
    ageing = tables.behaviour["ageing"]
    entries: Entries = {}
    for key, quantity, material, filler in AGEING:
        rows = picked(ageing, quantity=quantity, material=material, filler=filler)
        entries[key] = _kept(rows)
    glass = picked(ageing, source="pa66_glass_data_sheet")
    for name, quantities in {
        "strength": ("tensile_strength", "flexural_strength"),
        "modulus": ("tensile_modulus", "flexural_modulus"),
    }.items():
        wanted = [f"{quantity}_conditioned_over_dry" for quantity in quantities]
        rows = glass.where(np.isin(glass["quantity"], wanted))
        entries[f"conditioned_{name}_kept/PA66/glass_fibre"] = entry(
            geometric_mean(rows["value"]), rows, "1", "mean", "Moulded; tension and bending."
        )
    rows = picked(ageing, quantity="time_before_tensile_strength_falls")
    note = "Hydrothermal chamber; its authors equate it to 1.5 to 2.5 years of service."
    entries["hydrothermal_hours_without_loss/PLA"] = entry(
        alone(float(rows["value"][0])), rows, "h", "", note
    )
    return entries


def _kept(rows: Table) -> Entry:
    low, high = 1 - float(rows["high"][0]) / 100, 1 - float(rows["low"][0]) / 100
    value = 1 - float(rows["value"][0]) / 100
    if np.isfinite(value):
        return entry(alone(value), rows, "1", "")
    if np.isfinite(low):
        return entry(Spread((low + high) / 2, low, high, 1), rows, "1", "range stated by the source")
    return entry(alone(high), rows, "1", "", "The source says at most this much is kept.")


def temperature_curves(tables: Tables) -> Entries:
    """Strength and modulus relative to 23 degC at the temperatures measured (moulded, filled grades)."""
    rows = picked(tables.behaviour["temperature"], derived="no", unit="MPa", made="moulded")
    entries: Entries = {}
    for material in sorted(set(rows["material"].tolist())):
        for name, quantities in {
            "strength": ("tensile_strength", "tensile_yield_strength"),
            "modulus": ("tensile_modulus",),
        }.items():
            mine = rows.where((rows["material"] == material) & np.isin(rows["quantity"], quantities))
            curves = _relative_curves(mine)
            for temperature in sorted({t for curve in curves for t in curve} - {23.0}):
                values = np.array([curve[temperature] for curve in curves if temperature in curve])
                spread = _range(values)
                entries[f"warm_{name}/{material}/{temperature:g}"] = entry(
                    spread, mine, "1", "range over the grades seen", "Moulded, filled."
                )
    return entries


def temperature_curves_of_prints(tables: Tables) -> Entries:
    """Strength of prints relative to 23 degC where two or more sources pulled one polymer and filler warm.

    At every temperature tested that lies in the span of all of them. Between the temperatures of a source the
    logarithm of its strength is taken as straight; from 25 degC it is carried on to 23 degC the same way.
    """
    rows = picked(
        tables.behaviour["temperature"], derived="no", unit="MPa", made="printed", quantity="tensile_strength"
    )
    entries: Entries = {}
    for material, filler in sorted({(row["material"], row["filler"]) for row in rows.rows()}):
        mine = picked(rows, material=material, filler=filler)
        parts = [picked(mine, source=source) for source in sources_of(mine)]
        if len(parts) < 2:
            continue
        top = min(part["temperature_degc"].max() for part in parts)
        tested = {float(t) for t in mine["temperature_degc"] if WARM_C <= t <= top}
        for temperature in sorted(tested):
            values = np.array([_left_at(temperature, part) for part in parts])
            entries[f"warm_strength_printed/{material}/{filler}/{temperature:g}"] = entry(
                _range(values), mine, "1", "range over the grades seen", "Printed flat, along the layers."
            )
    return entries


def _left_at(temperature: float, rows: Table) -> float:
    """Strength at `temperature` over that at 23 degC, log strength straight between temperatures."""
    order = np.argsort(rows["temperature_degc"])
    warmth, strength = rows["temperature_degc"][order], np.log(rows["value"][order])
    first_slope = (strength[1] - strength[0]) / (warmth[1] - warmth[0])
    at_room = strength[0] + first_slope * (ROOM_C - warmth[0])
    return float(np.exp(np.interp(temperature, warmth, strength) - at_room))


def _relative_curves(rows: Table) -> list[dict[float, float]]:
    curves = []
    for source in sorted(set(rows["source"].tolist())):
        mine = picked(rows, source=source)
        base = float(mine["value"][mine["temperature_degc"] == 23][0])
        points = zip(mine["temperature_degc"], mine["value"] / base, strict=True)
        curves.append({float(t): float(v) for t, v in points})
    return curves


def _range(values: Vector) -> Spread:
    middle = float(np.exp(np.log(values).mean()))
    if len(values) == 1:
        return alone(middle)
    return Spread(middle, float(values.min()), float(values.max()), len(values))
