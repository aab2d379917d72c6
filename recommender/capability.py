"""What the printer can make and what a material is good for: the materials that may be asked for, and why not."""

from __future__ import annotations

import re
from dataclasses import dataclass

from kb.design_values import EngineValues
from kb.schema import Printer
from recommender.duty.sheet import Duty

SOFTENING_MARGIN_K = 15.0  # no use within 15 K of softening (estimate, kb/design_factors D33)
LEAST_FIBRE_NOZZLE_MM = 0.4


@dataclass(frozen=True, slots=True)
class Unfit:
    """Why a material is left out, and the nearest change that would let it in ("" when there is none)."""

    material: str
    reason: str
    remedy: str


def unfit_for_printer(values: EngineValues, printer: Printer, nozzle_mm: float) -> Unfit | None:
    """The first thing that `printer` lacks for this material."""
    name = values.name
    if values.nozzle_temperature_c.low > printer.hot_end_limit_c:
        return Unfit(
            values.material,
            f"{name} needs a nozzle at {values.nozzle_temperature_c.low:.0f} °C; the limit is "
            f"{printer.hot_end_limit_c:.0f} °C",
            "a hot end for higher temperatures",
        )
    if values.bed_temperature_c.low > printer.bed_limit_c:
        return Unfit(
            values.material,
            f"{name} needs a bed at {values.bed_temperature_c.low:.0f} °C; the limit is {printer.bed_limit_c:.0f} °C",
            "a hotter bed",
        )
    chamber = values.chamber_temperature_c
    if values.chamber_need == "required" and (chamber is None or chamber.low > printer.chamber_limit_c):
        least = f" of {chamber.low:.0f} °C" if chamber else ""
        return Unfit(
            values.material,
            f"{name} needs a closed, warm build space{least}; this printer reaches "
            f"{printer.chamber_limit_c:.0f} °C",
            "a printer with a warmer build space",
        )
    if values.abrasive and not printer.hardened_nozzle:
        return Unfit(values.material, f"{name} wears a brass nozzle", "a hardened nozzle")
    if values.abrasive and nozzle_mm < LEAST_FIBRE_NOZZLE_MM:
        return Unfit(values.material, f"fibres of {name} clog a {nozzle_mm:g} mm nozzle", "a 0.6 mm nozzle")
    if values.soft and not printer.direct_drive:
        return Unfit(values.material, f"{name} is too soft for a remote feeder", "a direct drive")
    return None


def unfit_for_duty(values: EngineValues, duty: Duty, peak_surface_c: float) -> Unfit | None:
    """The first thing about the place or the contact that this material does not stand."""
    limit = values.softening_c.typical - SOFTENING_MARGIN_K
    if peak_surface_c > limit:
        return Unfit(
            values.material,
            f"{values.name} softens at about {values.softening_c.typical:.0f} °C; with {SOFTENING_MARGIN_K:.0f} K "
            f"kept clear it may reach {limit:.0f} °C, the surface reaches {peak_surface_c:.0f} °C",
            "a cooler place, shade or a lighter colour",
        )
    for chemical in duty.place.chemicals:
        if any(values.chemical_ratings.get(group) == "P" for group in chemical_groups(chemical)):
            return Unfit(
                values.material, f"{values.name} does not stand {chemical}", f"keep it away from {chemical}"
            )
    if duty.place.outdoors and values.uv_rating == "poor":
        return Unfit(
            values.material, f"{values.name} does not stand sun and weather", "a painted or shaded part"
        )
    return None


CHEMICAL_GROUPS: dict[str, str] = {
    "water": "water", "alcohol": "alcohol", "isopropanol": "alcohol", "disinfectant": "alcohol",
    "oil": "oil_fuel", "grease": "oil_fuel", "fuel": "oil_fuel", "petrol": "oil_fuel", "diesel": "oil_fuel",
    "acetone": "acetone_ketone", "ketone": "acetone_ketone", "solvent": "acetone_ketone", "thinner": "acetone_ketone",
    "chlorinated": "chlorinated", "acid": "weak_acid", "vinegar": "weak_acid", "alkali": "weak_base",
    "cleaner": "weak_base", "soap": "weak_base", "bleach": "weak_base", "ammonia": "weak_base",
}  # fmt: skip


def chemical_groups(chemical: str) -> set[str]:
    """Groups of the ratings that the words of `chemical` belong to ("resin cleaner" is a cleaner)."""
    words = [chemical.strip().lower(), *re.findall(r"[a-z]+", chemical.lower())]
    return {
        CHEMICAL_GROUPS[word]
        for word in (*words, *(w.removesuffix("s") for w in words))
        if word in CHEMICAL_GROUPS
    }


def is_fit(
    values: EngineValues, duty: Duty, printer: Printer, nozzle_mm: float, peak_surface_c: float
) -> Unfit | None:
    """None when the material may be used; otherwise the first reason why not."""
    return unfit_for_printer(values, printer, nozzle_mm) or unfit_for_duty(values, duty, peak_surface_c)
