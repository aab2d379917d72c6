"""From the knowledge base to the moduli and strengths of printed skin and core."""

from __future__ import annotations

import numpy as np

from kb.design_values import engine_values
from kb.loading import KnowledgeBase
from kb.schema import Printer
from recommender.errors import InputError
from recommender.geometry.build_estimate import Machine, Settings
from recommender.geometry.part_check import Plastic
from recommender.geometry.section import Stiffness
from recommender.geometry.weakest_section import Strengths
from recommender.section.core import core_ratios
from recommender.section.strengths import SHEAR_ACROSS, SHEAR_ALONG

PATTERN = "gyroid"


def plastic_from(material: str, knowledge: KnowledgeBase, settings: Settings) -> Plastic:
    """Typical printed values at 23 degC, dry, for a short load; no factor of safety.

    Raises
    ------
    InputError
        The material is not known.
    """
    if material not in knowledge.materials:
        raise InputError(
            "--material", f"{material!r} is not known.", f"Known: {', '.join(sorted(knowledge.materials))}."
        )
    values = engine_values(knowledge.materials[material], knowledge)
    modulus = values.modulus_mpa.typical
    shear = modulus / (2 * (1 + values.poisson_ratio.typical))
    along = values.strength_mpa.typical
    across = along * values.interlayer_ratio.typical
    within = float(SHEAR_ALONG * along)
    ratios = core_ratios(
        (knowledge.lattices[PATTERN],),
        np.array([[100.0 * settings.infill]]),
        np.array([settings.line_width]),
    )
    softer = float(ratios.in_plane.ravel()[0])
    return Plastic(
        values.name,
        Stiffness(
            modulus,
            modulus * softer,
            shear,
            shear * float(ratios.shear_build.ravel()[0]),
        ),
        Strengths(along, across, min(SHEAR_ACROSS * across, within), within, softer),
        values.density_g_cm3.typical,
    )


def machine_from(printer: Printer) -> Machine:
    """Speeds and limits of a printer of the knowledge base."""
    speeds = printer.speeds
    return Machine(
        wall_speed=(speeds.outer_wall + speeds.inner_wall) / 2,
        closed_speed=speeds.top_bottom,
        infill_speed=speeds.infill,
        travel_speed=speeds.travel,
        acceleration=printer.acceleration_mm_s2,
        maximum_flow=printer.flow_limit_mm3_s,
        minimum_layer_time=printer.min_layer_time_s,
    )
