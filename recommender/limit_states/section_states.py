"""Limit states that forms share: a printed section under a moment, an axial or a shear force, or a torque."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from recommender.limit_states.form_model import Array, Block, LimitState, StateBasis
from recommender.mechanics import columns
from recommender.section.lie import Lie
from recommender.section.printed import PrintedSection
from recommender.section.strengths import Strengths

SectionOf = Callable[[Block], PrintedSection]

FORMULA_LOG_SD = 0.05  # beam and bar formulas against 3-D finite elements: within 5 % (validation table)
CORE_LOG_SD = 0.25  # core shear: 3 to 33 % low before correction; printed lattice 0.7 to 0.9 (estimate)
BUCKLING_LOG_SD = 0.20  # straightness and end fixity of a printed column (estimate)
NEVER = 1e9  # multiple of a state that cannot occur


def tension_basis(lie: Lie) -> StateBasis:
    """Which strength meets tension along the part."""
    return "across" if lie.across else "along"


def tension_strength(strengths: Strengths, lie: Lie) -> Array:
    """Strength in tension along the part, MPa."""
    return strengths.across if lie.across else strengths.along


def shear_strength(strengths: Strengths, lie: Lie) -> Array:
    """Strength in shear through the section's depth, MPa: between layers unless walls face the load."""
    within = lie.depth_faces == "walls" and not lie.across
    return strengths.shear_within if within else strengths.shear_between


def tears_words(lie: Lie) -> str:
    """What tension does, in words."""
    return "the pull peels the layers apart" if lie.across else "the stretched side tears across its lines"


def outer_stress(section: PrintedSection, core: Array, moment: float, axial: float = 0.0) -> Array:
    """Stress in the outer fibre of the skin, MPa, under a moment (N mm) and an axial force (N)."""
    stress: Array = np.zeros(1)
    if moment:
        stress = moment * section.half_depth / section.flexural(core)
    if axial:
        stress = stress + axial / section.axial(core)
    return stress


def skin_tension(section: SectionOf, lie: Lie, moment: float, axial: float = 0.0) -> LimitState:
    """Tension in the outer fibre under a moment (N mm) and an axial force (N)."""

    def multiple(block: Block, strengths: Strengths) -> Array:
        here = section(block)
        stress = outer_stress(here, block.core_along(lie), moment, axial)
        return tension_strength(strengths, lie) / stress

    return LimitState("tension", tears_words(lie), tension_basis(lie), FORMULA_LOG_SD, multiple)


def skin_compression(section: SectionOf, lie: Lie, moment: float, axial: float = 0.0) -> LimitState:
    """Crushing of the outer fibre under a moment (N mm) and an axial force (N, pressing)."""

    def multiple(block: Block, strengths: Strengths) -> Array:
        here = section(block)
        stress = outer_stress(here, block.core_along(lie), moment, axial)
        return strengths.pressed / stress

    return LimitState("compression", "the pressed side crushes", "pressed", FORMULA_LOG_SD, multiple)


def skin_dimpling(section: SectionOf, lie: Lie, moment: float, axial: float = 0.0) -> LimitState:
    """The pressed skin buckles between infill lines, or wrinkles on a soft core, whichever comes first."""

    def multiple(block: Block, strengths: Strengths) -> Array:
        here = section(block)
        stress = outer_stress(here, block.core_along(lie), moment, axial)
        dimple = columns.plate_buckling_stress(
            modulus=1.0, poisson_ratio=0.35, thickness=here.depth_face, width=block.core.spacing_mm
        )
        wrinkle = columns.wrinkling_stress(
            skin_modulus=1.0,
            core_modulus=block.core_along(lie),
            core_shear_modulus=block.core_shear(lie) / 2.7,
        )
        relative = np.minimum(dimple, wrinkle) / stress
        relative = np.where(here.core_area > 0.0, relative, NEVER)
        return strengths.modulus * relative

    return LimitState("dimpling", "the pressed skin buckles over the infill", "core", CORE_LOG_SD, multiple)


def core_shear(section: SectionOf, lie: Lie, shear_force: float) -> LimitState:
    """The core shears through; its strength falls with the same ratio as its stiffness (estimate)."""

    def multiple(block: Block, strengths: Strengths) -> Array:
        here = section(block)
        core = block.core_shear(lie)
        stress = here.core_shear_stress(core, shear_force)
        relative = np.where(stress > 0.0, core / np.maximum(stress, 1e-12), NEVER)
        return np.asarray(shear_strength(strengths, lie) * relative)

    return LimitState("core_shear", "the infill shears through", "core", CORE_LOG_SD, multiple)


def skin_shear(section: SectionOf, lie: Lie, shear_force: float) -> LimitState:
    """Walls shear through, or layers slide on each other."""

    def multiple(block: Block, strengths: Strengths) -> Array:
        stress = section(block).skin_shear_stress(block.core_shear(lie), shear_force)
        return np.asarray(shear_strength(strengths, lie) / stress)

    within = lie.depth_faces == "walls" and not lie.across
    words = "the walls shear through" if within else "the layers slide on each other"
    return LimitState("shear", words, "shear_within" if within else "shear_between", FORMULA_LOG_SD, multiple)


def torsion(section: SectionOf, lie: Lie, torque: float) -> LimitState:
    """Twisting: layers slide when the part stands; lying parts meet the same shear on their sides."""

    def multiple(block: Block, strengths: Strengths) -> Array:
        stress = section(block).torsion_stress(block.core.shear_build, torque)
        return np.asarray(strengths.shear_between / stress)

    return LimitState("torsion", "twisting slides the layers on each other", "shear_between", 0.07, multiple)
