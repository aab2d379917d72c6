"""Limit states that forms share: a printed section under a moment, an axial or a shear force, or a torque."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from recommender.limit_states.form_model import Array, Block, LimitState, StateBasis
from recommender.mechanics import anisotropy, columns, lattice
from recommender.section.lie import Lie
from recommender.section.printed import PrintedSection, bending_reserve
from recommender.section.strengths import Strengths

SectionOf = Callable[[Block], PrintedSection]

FORMULA_LOG_SD = 0.05  # beam and bar formulas against 3-D finite elements: within 5 % (validation table)
CORE_LOG_SD = 0.25  # core shear: 3 to 33 % low before correction; printed lattice 0.7 to 0.9 (estimate)
BUCKLING_LOG_SD = 0.20  # straightness and end fixity of a printed column (estimate)
THINNEST_SKIN_MM = 0.01  # thinner than any bead: there is no skin that could buckle
NEVER = 1e9  # multiple of a state that cannot occur
EMPTY = 1e-3  # relative density below which there is no infill
SKIN_POISSON = 0.35
SHEAR_TO_YOUNG = 2.0 * (1.0 + SKIN_POISSON)  # E over G of the solid skin
SHEAR_BUCKLING = 5.35 / 4.0  # buckling coefficient of a long panel in shear over that pressed
LEAST_CONTACT_MM = 5.0  # a load or support presses on at least this length, else on the depth (estimate)


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


def _stress_at_failure(section: PrintedSection, block: Block, lie: Lie, moment: float, axial: float) -> Array:
    """Outer stress over what the section still redistributes before it fails, MPa."""
    core = block.core_along(lie)
    stress = outer_stress(section, core, moment, axial)
    if not (moment and block.bending_exponent):
        return stress
    return stress * np.exp(-block.bending_exponent * bending_reserve(section, core))


def skin_tension(section: SectionOf, lie: Lie, moment: float, axial: float = 0.0) -> LimitState:
    """Tension in the outer fibre under a moment (N mm) and an axial force (N)."""

    def multiple(block: Block, strengths: Strengths) -> Array:
        return tension_strength(strengths, lie) / _stress_at_failure(
            section(block), block, lie, moment, axial
        )

    return LimitState("tension", tears_words(lie), tension_basis(lie), FORMULA_LOG_SD, multiple)


def skin_compression(section: SectionOf, lie: Lie, moment: float, axial: float = 0.0) -> LimitState:
    """Crushing of the outer fibre under a moment (N mm) and an axial force (N, pressing)."""

    def multiple(block: Block, strengths: Strengths) -> Array:
        return strengths.pressed / _stress_at_failure(section(block), block, lie, moment, axial)

    return LimitState("compression", "the pressed side crushes", "pressed", FORMULA_LOG_SD, multiple)


def skin_dimpling(
    section: SectionOf, lie: Lie, moment: float, axial: float = 0.0, both_ways: bool = False
) -> LimitState:
    """The pressed skin buckles between infill lines, or wrinkles on a soft core, whichever comes first.

    Never below the buckling of the bare panel between the other two faces, which is what an empty part has.
    `both_ways` looks at the faces on the breadth too, as where the whole section is pressed.
    """

    def multiple(block: Block, strengths: Strengths) -> Array:
        here = section(block)
        stress = outer_stress(here, block.core_along(lie), moment, axial)
        relative = buckling_of_faces(here, block, lie)
        if both_ways:
            relative = np.minimum(relative, buckling_of_faces(here.turned(), block, lie.turned))
        hollow = (here.core_area > 0.0) & (block.core.density < 1.0)
        return strengths.modulus * np.where(hollow, relative / stress, NEVER)

    return LimitState("dimpling", "the pressed skin buckles over the infill", "core", CORE_LOG_SD, multiple)


def buckling_of_faces(section: PrintedSection, block: Block, lie: Lie) -> Array:
    """Buckling stress of the faces at the ends of the depth, over the skin's modulus; no skin cannot buckle."""
    thickness = section.depth_face
    panel = np.maximum(section.breadth - 2.0 * section.breadth_face, thickness)
    between = _panel_buckling(thickness, np.minimum(block.core.spacing_mm, panel))
    wrinkle = columns.wrinkling_stress(
        skin_modulus=1.0,
        core_modulus=block.core_through(lie),
        core_shear_modulus=block.core_shear(lie) / SHEAR_TO_YOUNG,
    )
    buckling = np.maximum(np.minimum(between, wrinkle), _panel_buckling(thickness, panel))
    return np.where(thickness > THINNEST_SKIN_MM, buckling, NEVER)


def _panel_buckling(thickness: Array, width: Array) -> Array:
    return np.asarray(
        columns.plate_buckling_stress(
            modulus=1.0, poisson_ratio=SKIN_POISSON, thickness=thickness, width=width
        )
    )


def core_shear(section: SectionOf, lie: Lie, shear_force: float) -> LimitState:
    """The core shears through; its strength falls with the same ratio as its stiffness (estimate)."""

    def multiple(block: Block, strengths: Strengths) -> Array:
        here = section(block)
        core = block.core_shear(lie)
        stress = here.core_shear_stress(core, shear_force)
        loaded = (stress > 0.0) & (block.core.density > EMPTY)  # an empty part has no core to lose
        relative = np.where(loaded, core / np.maximum(stress, 1e-12), NEVER)
        return np.asarray(shear_strength(strengths, lie) * relative)

    return LimitState("core_shear", "the infill shears through", "core", CORE_LOG_SD, multiple)


def skin_shear(section: SectionOf, lie: Lie, moment: float, shear_force: float) -> LimitState:
    """Walls shear through, or layers slide on each other; where layers are pulled apart too, both at once."""
    if lie.across:
        return _interlayer(section, lie, moment, shear_force)

    def multiple(block: Block, strengths: Strengths) -> Array:
        stress = section(block).skin_shear_stress(block.core_shear(lie), shear_force)
        return np.asarray(shear_strength(strengths, lie) / stress)

    within = lie.depth_faces == "walls"
    words = "the walls shear through" if within else "the layers slide on each other"
    return LimitState("shear", words, "shear_within" if within else "shear_between", FORMULA_LOG_SD, multiple)


def _interlayer(section: SectionOf, lie: Lie, moment: float, shear_force: float) -> LimitState:
    """Tension and shear on the layer plane together (Hashin's form): at mid-depth, and where skin meets core.

    Shear falls towards the faces as 1 - core (y / (h/2))^2: as in a solid section where the core is as stiff as
    the skin, not at all in the side walls of a hollow box, so there full shear meets most of the tension. In a
    solid section the sum is convex in y^2, so the middle and the outer fibre (its own state) cover it.
    """

    def multiple(block: Block, strengths: Strengths) -> Array:
        here = section(block)
        core = block.core_shear(lie)
        height = 1.0 - 2.0 * here.depth_face / here.depth
        shear = here.skin_shear_stress(core, shear_force)
        used = anisotropy.interlayer_utilisation(
            normal_stress=_stress_at_failure(here, block, lie, moment, 0.0) * height,
            shear_stress=shear * (1.0 - core * height**2),
            strength_across=strengths.across,
            shear_strength=strengths.shear_between,
        )
        return np.asarray(1.0 / np.maximum(used, shear / strengths.shear_between))

    words = "the layers slide and peel apart"
    return LimitState("interlayer", words, "shear_between", FORMULA_LOG_SD, multiple)


def crushing(section: SectionOf, lie: Lie, force: float, contact: float) -> LimitState:
    """The core crushes under the load or on a support that presses on a length of `contact` mm.

    The faces beside the core carry as struts, the core up to its collapse: the walls of the lattice crush or
    buckle between their crossings.
    """

    def multiple(block: Block, strengths: Strengths) -> Array:
        here = section(block)
        inner = np.maximum(here.breadth - 2.0 * here.breadth_face, 0.0)
        core = core_collapse(block, strengths, block.core_through(lie))
        share = contact / force
        return np.asarray(
            share * here.breadth * strengths.pressed - share * (strengths.pressed - core) * inner
        )

    return LimitState(
        "crushing", "the infill crushes under the load or on a support", "core", CORE_LOG_SD, multiple,
        note=f"load and supports are taken to press on {contact:.0f} mm of length (estimate)",
    )  # fmt: skip


def core_collapse(block: Block, strengths: Strengths, carrying: Array) -> Array:
    """Stress on the lattice (MPa) at which its walls crush or buckle; `carrying` is core over solid."""
    buckling = lattice.wall_buckling_stress(
        modulus=strengths.modulus, poisson_ratio=SKIN_POISSON,
        line_width=block.skins.line_width_mm, spacing=block.core.spacing_mm,
    )  # fmt: skip
    return np.asarray(
        lattice.collapse_stress(
            relative_strength_density=carrying, strength=strengths.pressed, wall_buckling_stress=buckling
        )
    )


def torsion(section: SectionOf, lie: Lie, torque: float) -> tuple[LimitState, ...]:
    """Twisting: layers slide when the part stands; lying parts meet the same shear on their sides.

    A thin skin may buckle between infill lines before: plate buckling in shear, which has a coefficient of
    5.35 against 4.00 pressed (Timoshenko and Gere, Theory of Elastic Stability, 2nd ed., ch. 9).
    """

    def slides(block: Block, strengths: Strengths) -> Array:
        stress = section(block).torsion_stress(block.core.shear_build, torque)
        return np.asarray(strengths.shear_between / stress)

    def buckles(block: Block, strengths: Strengths) -> Array:
        here = section(block)
        stress = here.torsion_stress(block.core.shear_build, torque)
        relative = np.minimum(
            buckling_of_faces(here, block, lie), buckling_of_faces(here.turned(), block, lie.turned)
        )
        sheared = SHEAR_BUCKLING * np.where(here.core_area > 0.0, relative / stress, NEVER)
        return np.asarray(strengths.modulus * sheared)

    def sheared(block: Block, strengths: Strengths) -> Array:
        stress = section(block).torsion_stress(block.core.shear_build, torque)
        return np.asarray(stress / strengths.shear_modulus)

    return (
        holds_while("it twists by more than the formulas hold for", 2.0 * LINEAR_STRAIN, sheared),
        LimitState("torsion", "twisting slides the layers on each other", "shear_between", 0.10, slides),
        LimitState("dimpling", "twisting buckles the skin over the infill", "core", CORE_LOG_SD, buckles),
    )


LINEAR_STRAIN = 0.02  # strain up to which stress follows it in proportion (Roark; mechanics of polymers)


def linear_strain(strain: Callable[[Block, Strengths], Array]) -> LimitState:
    """Linear elasticity: no number where the part stretches further."""
    return holds_while("it stretches by more than 2 %, where the formulas end", LINEAR_STRAIN, strain)


def never_above_one(share: Array) -> Array:
    """`share` with NEVER where it is 1 or more; changed in place."""
    share[share >= 1.0] = NEVER
    return share


def holds_while(words: str, limit: float, reached: Callable[[Block, Strengths], Array]) -> LimitState:
    """Validity of a formula: no factor where `reached` stays below `limit`, and below 1 where it does not."""

    def multiple(block: Block, strengths: Strengths) -> Array:
        return never_above_one(limit / np.maximum(reached(block, strengths), 1e-12))

    return LimitState("validity", words, "stiffness", 0.1, multiple)
