"""One candidate of one round-numbered plastic through the public engine, for hand calculations.

The plastic is made up so that figures can be followed by hand: 50 MPa along the lines, 25 MPa across the layers
(at half a nozzle of layer height), 60 MPa pressed, E = 2000 MPa, nu = 0.35, notch sensitivity 0.5, working
strain 2.8 % once and 1.68 % repeated. Shear: 50 / sqrt(3) = 28.868 MPa within the layers, 0.66 x 25 = 16.5 MPa
between them.
"""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np

from kb.design_values import EngineValues, engine_values
from kb.loading import KnowledgeBase, load_knowledge_base
from kb.schema import DesignValue
from recommender.candidates import Space
from recommender.duty.reading import duty_from
from recommender.evaluation import Problem, state_results
from recommender.learned import NOTHING_LEARNED

KNOWLEDGE: KnowledgeBase = load_knowledge_base()
ROUND_NUMBERS = {
    "strength_mpa": 50.0, "modulus_mpa": 2000.0, "interlayer_ratio": 0.5, "interlayer_ratio_enclosed": 0.5,
    "compressive_ratio": 1.2, "poisson_ratio": 0.35, "notch_sensitivity": 0.5,
    "working_strain_once_percent": 2.8, "working_strain_repeated_percent": 1.68,
    "conditioned_strength_factor": 1.0, "conditioned_modulus_factor": 1.0,
}  # fmt: skip
ALONG, ACROSS, PRESSED, WITHIN, BETWEEN = 50.0, 25.0, 60.0, 50.0 / 3**0.5, 16.5


def plastic(**numbers: float) -> EngineValues:
    """The made-up plastic, with some figures changed."""
    real = engine_values(KNOWLEDGE.materials["pla"], KNOWLEDGE)
    wanted = {**ROUND_NUMBERS, **numbers}
    known = {f.name for f in fields(EngineValues)}
    assert set(wanted) <= known
    return replace(real, **{name: _exactly(name, value) for name, value in wanted.items()})


def _exactly(name: str, value: float) -> DesignValue:
    return DesignValue(name, value, value, value, "", "A", ("made_up",), "made up for a test")


def problem_of(sheet: dict[str, Any], **numbers: float) -> Problem:
    """The sheet on the default printer at 23 °C with the made-up plastic."""
    duty = duty_from({"part": "part", "people": {"if_it_breaks": "no_harm"}, **sheet})
    printer = KNOWLEDGE.printers["open_medium"]
    return Problem(duty, KNOWLEDGE, printer, {"pla": plastic(**numbers)}, 23.0, 23.0, NOTHING_LEARNED)


def candidate(
    walls: float = 2,
    layers: float = 4,
    infill: float = 20.0,
    pattern: str = "grid",
    layer_height: float = 0.2,
) -> Space:
    """Settings with lines 0.5 mm wide from a 0.4 mm nozzle."""
    return Space(
        materials=("pla",),
        lattices=(KNOWLEDGE.lattices[pattern],),
        nozzle_mm=0.4,
        layer_height_mm=np.array([layer_height]),
        line_width_mm=np.array([0.5]),
        walls=np.array([float(walls)]),
        top_layers=np.array([float(layers)]),
        bottom_layers=np.array([float(layers)]),
        infill_percent=np.array([float(infill)]),
    )


def multiples(
    form: dict[str, Any],
    load: dict[str, Any],
    orientation: str = "flat",
    numbers: dict[str, float] | None = None,
    **settings: Any,
) -> dict[str, float]:
    """Load at failure over the load, by limit state; solid unless settings say otherwise."""  # fmt: skip
    problem = problem_of({"form": form, "loads": [{"kind": "static", **load}]}, **(numbers or {}))
    space = candidate(**(settings or {"walls": 1000, "infill": 100}))
    results = state_results(problem, space, orientation)
    return {r.state.key: float(np.reshape(r.multiple, -1)[0]) for r in results}
