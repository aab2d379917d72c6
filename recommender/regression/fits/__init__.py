"""Fits of behaviour: one module per kind, one plain tuple of them, no registry."""

from __future__ import annotations

from collections.abc import Callable

from recommender.regression.fits.bond import bond_against_layer_height, bond_against_surroundings, bond_ratio
from recommender.regression.fits.entries import Entries, Tables, load_tables
from recommender.regression.fits.fatigue import (
    fatigue_of_mouldings,
    fatigue_of_printed_structure,
    fatigue_of_prints,
)
from recommender.regression.fits.lasting import (
    age_and_water,
    creep_exponents,
    temperature_curves,
    temperature_curves_of_prints,
)
from recommender.regression.fits.scatter import repeat_scatter, spool_scatter
from recommender.regression.fits.sizes import hole_undersize, mass_and_time

__all__ = ["FITS", "WITHOUT_ROWS", "fitted_behaviour", "load_tables"]

WITHOUT_ROWS = {
    "creep_rupture_fraction/printed": "No printed polymer was seen at 100 to 1000 h.",
    "fatigue_fraction/printed_other_than_PLA": "No printed S-N points of PETG, ABS, ASA, PC, PA or TPU.",
    "warm_strength/unfilled_printed": "No curve of strength against temperature of an unfilled print.",
    "bond_ratio/PP_unfilled": "Use bond_ratio/unseen/none; no pair of its own was seen.",
    "bond_against_fan_and_nozzle_temperature": "No figure was seen.",
}

FITS: tuple[Callable[[Tables], Entries], ...] = (
    bond_ratio,
    bond_against_layer_height,
    bond_against_surroundings,
    repeat_scatter,
    spool_scatter,
    fatigue_of_prints,
    fatigue_of_mouldings,
    fatigue_of_printed_structure,
    creep_exponents,
    age_and_water,
    temperature_curves,
    temperature_curves_of_prints,
    hole_undersize,
    mass_and_time,
)


def fitted_behaviour(tables: Tables) -> Entries:
    """All entries of the record, by key."""
    entries: Entries = {}
    for fit in FITS:
        entries |= fit(tables)
    return entries
