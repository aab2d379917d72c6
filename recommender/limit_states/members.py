"""Bar, beam, column and shaft: straight members of one section."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from recommender.duty.loads import Load
from recommender.limit_states import section_states
from recommender.limit_states.form_model import (
    Array,
    Block,
    Demand,
    Envelope,
    LimitState,
    ShapeChange,
    StateBasis,
)
from recommender.mechanics import beams, columns
from recommender.section.lie import Lie, member_lie
from recommender.section.printed import PrintedSection, RectangularSection, RoundSection, Skins
from recommender.section.strengths import Strengths

END_FACTORS = {**columns.EFFECTIVE_LENGTH_FACTORS, "fixed_free": 2.1}  # 2.1: AISC's advice for a real clamp
SMALL_DEFLECTION = 0.1  # of the span: beyond it the linear formulas do not hold (Roark, ch. 8)
GIVING_ENDS_LOG_SD = (
    0.20  # ends that give a little raise the moment, up to twice when they give all (estimate)
)
SHORTEST_BEAM = 2.0  # span over depth; with the shear term the formulas were compared down to 4


def _sizes(form: Any, direction: str) -> tuple[float, float]:
    """Depth (along the load) and breadth of the section, mm."""
    section = form.section
    if section.shape == "rectangle":
        depth, breadth = section.thickness, section.width
        return (depth, breadth) if direction == "thickness" else (breadth, depth)
    outer = section.diameter if section.shape == "round" else section.outer_diameter
    return outer, outer


def _section(form: Any, lie: Lie, direction: str, block: Block) -> PrintedSection:
    section = form.section
    if section.shape == "rectangle":
        depth, breadth = _sizes(form, direction)
        return RectangularSection.printed(depth, breadth, block.skins, lie)
    outer = section.diameter if section.shape == "round" else section.outer_diameter
    inner = 0.0 if section.shape == "round" else section.inner_diameter
    return RoundSection.printed(outer, inner, block.skins, lie)


def _length(form: Any) -> float:
    return float(form.span if form.kind == "beam" else form.length)


def _support(form: Any) -> beams.Support:
    support: beams.Support = form.support if form.kind == "beam" else "simply_supported"
    return support


def _load_at(form: Any, load: Load) -> tuple[beams.LoadAt, float | None]:
    at = load.at
    if at is None:
        return ("end" if _support(form) == "cantilever" else "middle"), None
    if at == "spread":
        return "uniform", None
    if at == "middle":
        return "middle", None
    return ("end", None) if at == "end" else ("distance", float(at))


class Member:
    """Straight members under pull, push, bending and twist."""

    gives = True

    def orientations(self, form: Any, load: Load) -> tuple[str, ...]:
        """All three."""
        return ("flat", "edge", "upright")

    def demand(self, form: Any, load: Load, index: int, action: str) -> Demand:
        """Force in N, or torque in N mm."""
        if action == "twist":
            return Demand(index, load, action, float(load.torque or 0.0), "N·mm")
        return Demand(index, load, action, float(load.force or 0.0), "N")

    def problems(self, form: Any, demand: Demand) -> tuple[str, ...]:
        """A bent member must be longer than twice its depth, or it is no beam."""
        depth, _ = _sizes(form, demand.load.direction)
        if demand.action == "bend" and _length(form) < SHORTEST_BEAM * depth:
            return (
                f"a span of {_length(form):g} mm is less than {SHORTEST_BEAM:g} times the depth of "
                f"{depth:g} mm; beam formulas do not hold for so short a member",
            )
        return ()

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """From the direction of the load."""
        return member_lie(orientation, demand.load.direction)

    def _moment_and_shear(self, form: Any, demand: Demand) -> tuple[float, float]:
        at, distance = _load_at(form, demand.load)
        case = beams.coefficients(support=_support(form), load_at=at, span=_length(form), distance=distance)
        return float(case.moment) * demand.amount * _length(form), float(case.shear) * demand.amount

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """By action."""

        known: list[tuple[Skins, PrintedSection]] = []

        def section(block: Block) -> PrintedSection:
            if not known or known[0][0] is not block.skins:
                known[:] = [(block.skins, _section(form, lie, demand.load.direction, block))]
            return known[0][1]

        stretched = section_states.linear_strain(
            lambda block, strengths: np.asarray(self.strain(form, demand, lie, block, strengths))
        )
        if demand.action == "pull":
            return (section_states.skin_tension(section, lie, 0.0, demand.amount), stretched)
        if demand.action == "push":
            return (
                section_states.skin_compression(section, lie, 0.0, demand.amount),
                section_states.skin_dimpling(section, lie, 0.0, demand.amount, both_ways=True),
                self._buckling(form, demand, lie),
                stretched,
            )
        if demand.action == "twist":
            return section_states.torsion(section, lie, demand.amount)
        return self._bending(form, demand, lie, section)

    def _bending(
        self, form: Any, demand: Demand, lie: Lie, section: section_states.SectionOf
    ) -> tuple[LimitState, ...]:
        moment, shear = self._moment_and_shear(form, demand)
        tension = section_states.skin_tension(section, lie, moment)
        if _support(form) == "fixed_both_ends":
            tension = replace(
                tension, log_sd=GIVING_ENDS_LOG_SD,
                note="ends that give a little raise the moment; resting freely it would double",
            )  # fmt: skip
        states = [
            tension,
            section_states.skin_compression(section, lie, moment),
            section_states.skin_dimpling(section, lie, moment),
            section_states.core_shear(section, lie, shear),
            section_states.skin_shear(section, lie, moment, shear),
            self._small_deflection(form, demand, lie),
        ]
        pressing = self._pressing_force(form, demand, shear)
        if pressing > 0.0:
            depth, _ = _sizes(form, demand.load.direction)
            contact = max(depth, section_states.LEAST_CONTACT_MM)
            states.append(section_states.crushing(section, lie, pressing, contact))
            if form.section.shape == "tube":
                states.append(self._flattening(form, lie, pressing, contact))
        return tuple(states)

    def _pressing_force(self, form: Any, demand: Demand, shear: float) -> float:
        """Largest force that presses on one place: the load where it stands, or a support under a spread one."""
        spread = _load_at(form, demand.load)[0] == "uniform"
        if not spread:
            return demand.amount
        return shear if _support(form) == "simply_supported" else 0.0

    def _flattening(self, form: Any, lie: Lie, force: float, contact: float) -> LimitState:
        """A ring pressed by two opposite forces: M = F R / pi under them (Roark, ch. 9), solid wall."""
        thickness = (form.section.outer_diameter - form.section.inner_diameter) / 2.0
        radius = (form.section.outer_diameter + form.section.inner_diameter) / 4.0
        stress = 6.0 * force * radius / np.pi / (contact * thickness**2)
        basis: StateBasis = "along" if lie.across else "across"

        def multiple(block: Block, strengths: Strengths) -> Array:
            here = _section(form, lie, "thickness", block)
            core = block.core.in_plane
            solid = np.where(here.core_area > 0.0, np.minimum(2.0 * here.depth_face / thickness, 1.0), 1.0)
            # A lying tube's ring runs through the layers, a standing one lies in them.
            strength = strengths.along if lie.across else strengths.across
            return np.asarray(strength * (solid + (1.0 - solid) * core) / stress)

        return LimitState(
            "flattening", "the tube is pressed flat", basis, section_states.CORE_LOG_SD, multiple
        )

    def _small_deflection(self, form: Any, demand: Demand, lie: Lie) -> LimitState:
        at, distance = _load_at(form, demand.load)
        limit = SMALL_DEFLECTION * _length(form)

        def multiple(block: Block, strengths: Strengths) -> Array:
            here = _section(form, lie, demand.load.direction, block)
            # For a skin of E = 1 MPa, so that the material enters once, at the end.
            moved = beams.deflection(
                support=_support(form), load_at=at, span=_length(form), force=demand.amount, distance=distance,
                flexural_rigidity=here.flexural(block.core_along(lie)),
                shear_rigidity=here.shear(block.core_shear(lie)) / section_states.SHEAR_TO_YOUNG,
            )  # fmt: skip
            modulus = strengths.modulus_across if lie.across else strengths.modulus
            return section_states.never_above_one(np.asarray(modulus * (limit / moved)))

        words = "it bends by more than a tenth of its span, where the formulas end"
        return LimitState("validity", words, "stiffness", 0.1, multiple)

    def _buckling(self, form: Any, demand: Demand, lie: Lie) -> LimitState:
        factor = END_FACTORS[form.ends] if form.kind == "column" else END_FACTORS["pinned"]

        def multiple(block: Block, strengths: Strengths) -> Array:
            here = _section(form, lie, demand.load.direction, block)
            core = block.core_along(lie)
            elastic = np.minimum(
                self._elastic_load(form, here, lie, block, strengths, factor),
                self._elastic_load(form, here.turned(), lie.turned, block, strengths, factor),
            )
            squash = strengths.pressed * here.axial(core)
            load: Array = columns.critical_load(elastic_load=elastic, squash_load=squash) / demand.amount
            return load

        return LimitState(
            "buckling", "the member bows out sideways and buckles", "core", section_states.BUCKLING_LOG_SD,
            multiple, note=f"effective length {factor:g} x the length",
        )  # fmt: skip

    def _elastic_load(
        self, form: Any, section: PrintedSection, lie: Lie, block: Block, strengths: Strengths, factor: float
    ) -> Array:
        """Elastic buckling load in N when the member bows through the section's depth."""
        modulus = strengths.modulus_across if lie.across else strengths.modulus
        euler = columns.euler_load(
            flexural_rigidity=modulus * section.flexural(block.core_along(lie)),
            length=_length(form),
            effective_length_factor=factor,
        )
        shear = strengths.shear_modulus * section.shear(block.core_shear(lie))
        return np.asarray(columns.engesser_load(euler_load=euler, shear_rigidity=shear))

    def deflection(
        self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths
    ) -> Array | None:
        """Bending with shear; stretch for pull and push; the arc at the outer fibre for twist."""
        here = _section(form, lie, demand.load.direction, block)
        core, modulus = block.core_along(lie), strengths.modulus_across if lie.across else strengths.modulus
        length = _length(form)
        if demand.action in ("pull", "push"):
            return np.asarray(demand.amount * length / (modulus * here.axial(core)))
        if demand.action == "twist":
            rigidity = strengths.shear_modulus * here.torsional(block.core.shear_build)
            return np.asarray(demand.amount * length / rigidity * here.half_depth)
        at, distance = _load_at(form, demand.load)
        bent = beams.deflection(
            support=_support(form), load_at=at, span=length, force=demand.amount, distance=distance,
            flexural_rigidity=modulus * here.flexural(core),
            shear_rigidity=strengths.shear_modulus * here.shear(block.core_shear(lie)),
        )  # fmt: skip
        return np.asarray(bent)

    def stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array | None:
        """Direct stress in the outer fibre; shear stress for twist."""
        here = _section(form, lie, demand.load.direction, block)
        if demand.action == "twist":
            return np.asarray(here.torsion_stress(block.core.shear_build, demand.amount))
        if demand.action == "bend":
            return section_states.outer_stress(
                here, block.core_along(lie), self._moment_and_shear(form, demand)[0]
            )
        return section_states.outer_stress(here, block.core_along(lie), 0.0, demand.amount)

    def strain(self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths) -> Array | None:
        """Stress over modulus."""
        stress = self.stress(form, demand, lie, block)
        modulus = strengths.modulus_across if lie.across else strengths.modulus
        return None if stress is None or demand.action == "twist" else stress / modulus

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> PrintedSection:
        """The member's own section."""
        return _section(form, lie, demand.load.direction, block)

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """A prism as laid."""
        depth, breadth = _sizes(form, "thickness")
        length = _length(form)
        area = RectangularSection(depth, breadth, np.zeros(1), np.zeros(1)).area
        hollow = 0.0
        if form.section.shape != "rectangle":
            inner = getattr(form.section, "inner_diameter", 0.0)
            area = float(np.pi / 4.0 * (depth**2 - inner**2))
            hollow = np.pi * inner
        if orientation == "upright":
            outline = 2.0 * (depth + breadth) if form.section.shape == "rectangle" else np.pi * depth + hollow
            return Envelope(area, outline, length, (breadth, depth, length), area)
        height, across = (depth, breadth) if orientation == "flat" else (breadth, depth)
        mean_width = area / height
        return Envelope(
            length * mean_width,
            2.0 * (length + mean_width),
            height,
            (length, across, height),
            length * mean_width,
        )

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Deeper by a fifth (at least a millimetre), wider, and for bending shorter by a tenth."""
        changes = []
        section = form.section
        if section.shape == "rectangle":
            for name in ("thickness", "width"):
                size = getattr(section, name)
                grown = size + max(1.0, round(0.2 * size))
                changes.append(
                    (
                        f"{name} {size:g} to {grown:g} mm",
                        {"section": section.model_copy(update={name: grown})},
                    )
                )
        elif section.shape == "round":
            grown = section.diameter + max(1.0, round(0.2 * section.diameter))
            changes.append(
                (
                    f"diameter {section.diameter:g} to {grown:g} mm",
                    {"section": section.model_copy(update={"diameter": grown})},
                )
            )
        if form.kind == "beam":
            shorter = round(0.9 * form.span, 1)
            changes.append((f"span {form.span:g} to {shorter:g} mm", {"span": shorter}))
        return tuple(ShapeChange(words, form.model_copy(update=update)) for words, update in changes)


MEMBER = Member()
