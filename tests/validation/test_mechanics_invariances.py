"""What must hold for every vector: a change of units changes nothing, arrays equal their elements."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import table
from hypothesis import given, settings
from hypothesis import strategies as st
from vector_formulas import FORMULAS

# Powers of length and force in each unit that a name may end with, longest first.
DIMENSIONS: dict[str, tuple[int, int]] = {
    "_N_per_mm": (-1, 1),
    "_per_mm": (-1, 0),
    "_Nmm2": (2, 1),
    "_Nmm": (1, 1),
    "_mm2": (2, 0),
    "_mm3": (3, 0),
    "_mm4": (4, 0),
    "_mm": (1, 0),
    "_MPa": (-2, 1),
    "_N": (0, 1),
}

# Plate rigidity is printed in "Nmm" and the sandwich's in N per mm: both fit the table above.
# These use kg, g, s, J, micrometres or MPa sqrt(m) and so are tied to the unit system.
OTHER_UNITS = {
    "impact_drop",
    "pressure_thin",
    "tcd_point",
    "bridge_sag",
    "mass_length",
    "volumetric_flow",
    "print_time",
    "segment_time",
    "iso286_10",
    "iso286_25",
    "iso286_50",
    "scale_offset",
}

VECTORS = {vector["id"]: vector for vector in table.read_vectors()}


def dimension(name: str) -> tuple[int, int]:
    return next((powers for unit, powers in DIMENSIONS.items() if name.endswith(unit)), (0, 0))


def rescaled(name: str, value: Any, length: float, force: float) -> Any:
    if isinstance(value, dict | str):
        return value
    powers = dimension(name)
    factor = length ** powers[0] * force ** powers[1]
    return (np.asarray(value) * factor).tolist() if isinstance(value, list) else value * factor


@settings(max_examples=5, deadline=None)
@given(length=st.floats(0.04, 25), force=st.floats(0.01, 100))
@pytest.mark.parametrize("name", sorted(set(VECTORS) - OTHER_UNITS))
def test_inches_and_pounds_give_the_same_part(name: str, length: float, force: float) -> None:
    inputs = VECTORS[name]["inputs"]
    here = FORMULAS[name](inputs)
    there = FORMULAS[name]({key: rescaled(key, value, length, force) for key, value in inputs.items()})
    for quantity in VECTORS[name]["expected"]:
        if not isinstance(VECTORS[name]["expected"][quantity], str):
            expected = rescaled(quantity, here[quantity], length, force)
            assert there[quantity] == pytest.approx(expected, rel=1e-8, abs=1e-15), quantity


@pytest.mark.parametrize("name", sorted(VECTORS))
def test_an_open_grid_equals_its_elements(name: str) -> None:
    inputs = VECTORS[name]["inputs"]
    numbers = {key: value for key, value in inputs.items() if isinstance(value, int | float)}
    if not numbers:
        pytest.skip("this vector has only lists")
    factors = np.array([1.0, 1.01, 0.98])
    axes = {key: [1] * len(numbers) for key in numbers}
    for position, key in enumerate(numbers):
        axes[key][position] = 3 if position < 3 else 1
    grids = {
        key: (value * factors).reshape(axes[key]) if 3 in axes[key] else value
        for key, value in numbers.items()
    }
    grid = FORMULAS[name]({**inputs, **grids})
    corner = {key: value * factors[2] if 3 in axes[key] else value for key, value in numbers.items()}
    element = FORMULAS[name]({**inputs, **corner})
    for quantity in VECTORS[name]["expected"]:
        last = np.asarray(grid[quantity]).ravel()[-1]
        if isinstance(element[quantity], str):
            assert last == element[quantity]
        else:
            assert last == pytest.approx(element[quantity], rel=1e-12, abs=1e-15), quantity
