"""Prints that were never made, for the tests of the log."""

from __future__ import annotations

from recommender.log.records import Print


def synthetic_print(**given: object) -> Print:
    """A print that was never made: predicted to fail at 100 N in a short test, 50 g, 100 min."""
    fields: dict[str, object] = {
        "part": "synthetic hook", "printer": "left one", "material": "petg", "spool": "grey 3",
        "geometry": "hook, small", "applied": 20.0, "failure_low": 50.0, "failure_typical": 80.0,
        "failure_high": 120.0, "test_low": 70.0, "test_typical": 100.0, "test_high": 140.0,
        "governing": "skin tension", "stress_mpa": 8.0, "mass_g": 50.0, "time_min": 100.0,
        "settings": {"walls": 3, "infill_percent": 20.0, "layer_height_mm": 0.2, "nozzle_diameter_mm": 0.4,
                     "orientation": "flat", "nozzle_temperature_c": 240.0},
        "sheet": {"part": "synthetic hook", "form": {"kind": "hook", "width": "10 mm", "depth": "1 cm"}},
    }  # fmt: skip
    return Print(**{**fields, **given})
