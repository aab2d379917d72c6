"""Plate or lid: bending of the two skins, shear of the core, give."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from recommender.duty.loads import Load
from recommender.limit_states import section_states
from recommender.limit_states.form_base import FormBase, grown, shrunk, state
from recommender.limit_states.form_model import Array, Block, Demand, Envelope, LimitState, ShapeChange
from recommender.mechanics import plates
from recommender.section.lie import UPRIGHT, Lie, member_lie
from recommender.section.printed import RectangularSection
from recommender.section.strengths import Strengths

POISSON = 0.35
PLATE_LOG_SD = (
    0.08  # closed forms against finite elements (validation table) and how the edge is held (estimate)
)
EDGES: dict[str, plates.Edge] = {"resting": "simply_supported", "clamped": "clamped"}


class PlateModel(FormBase):
    """A plate under pressure, a spread force, or a force at its middle."""

    def demand(self, form: Any, load: Load, index: int, action: str) -> Demand:
        """A pressure in MPa, or a force in N."""
        if load.pressure is not None:
            return Demand(index, load, "pressure", float(load.pressure), "MPa")
        return Demand(
            index, load, "spread" if load.at == "spread" else "middle", float(load.force or 0.0), "N"
        )

    def problems(self, form: Any, demand: Demand) -> tuple[str, ...]:
        """A plate is thin against its span."""
        span = form.diameter if form.outline == "round" else min(form.length, form.width)
        if form.thickness > span / 4.0:
            return (
                f"a thickness of {form.thickness:g} mm over a span of {span:g} mm is a block, not a plate",
            )
        return ()

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """Flat on the bed, or standing: then bending pulls across the layers in one direction."""
        if orientation == "flat":
            return member_lie("flat", "thickness")
        return (
            UPRIGHT
            if orientation == "upright"
            else Lie("edge", "walls", "walls", True, "standing on its rim")
        )

    def orientations(self, form: Any, load: Load) -> tuple[str, ...]:
        """Flat and upright; on edge is the same as upright."""
        return ("flat", "upright")

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> RectangularSection:
        """A strip through the middle (its side walls do not count)."""
        wide = form.diameter if form.outline == "round" else max(form.length, form.width)
        face = block.skins.filled(form.thickness, block.skins.face_mm(lie.depth_faces))
        side = np.where(2.0 * face >= form.thickness, wide / 2.0, 0.0)
        return RectangularSection(form.thickness, wide, face, side)

    def _skin(self, form: Any, lie: Lie, block: Block) -> Array:
        return block.skins.filled(form.thickness, block.skins.face_mm(lie.depth_faces))

    def _rigidity(self, form: Any, lie: Lie, block: Block) -> Array:
        """D over the skin's modulus, mm^3."""
        return np.asarray(
            plates.sandwich_rigidity(
                skin_modulus=1.0, skin_poisson_ratio=POISSON, core_modulus=block.core_along(lie),
                core_poisson_ratio=0.3 + (POISSON - 0.3) * block.core_along(lie), thickness=form.thickness, skin_thickness=self._skin(form, lie, block),
            )
        )  # fmt: skip

    def _moment(self, form: Any, demand: Demand) -> float:
        """Largest bending moment per width, N mm/mm."""
        edge, patch = EDGES[form.edge], form.patch_diameter / 2.0
        if form.outline == "round":
            return self._round_moment(form, demand, edge, patch)
        short, long = sorted((form.length, form.width))
        if demand.action == "middle":
            radius = plates.equivalent_patch_radius(patch_radius=patch, thickness=form.thickness)
            centre = plates.rectangular_point_centre_moment(
                edge=edge,
                force=demand.amount,
                short=short,
                long=long,
                patch_radius=radius,
                poisson_ratio=POISSON,
            )
            rim = plates.rectangular_point_edge_moment(force=demand.amount, short=short, long=long)
            return float(max(centre, rim if edge == "clamped" else 0.0))
        pressure = demand.amount if demand.action == "pressure" else demand.amount / (short * long)
        beta = plates.rectangular_moment_coefficient(edge=edge, short=short, long=long, poisson_ratio=POISSON)
        return float(beta * pressure * short**2)

    def _round_moment(self, form: Any, demand: Demand, edge: plates.Edge, patch: float) -> float:
        radius = form.diameter / 2.0
        if demand.action == "middle":
            spread = plates.equivalent_patch_radius(patch_radius=patch, thickness=form.thickness)
            centre = plates.circular_point_centre_moment(
                edge=edge, force=demand.amount, radius=radius, patch_radius=spread, poisson_ratio=POISSON
            )
            rim = plates.circular_point_edge_moment(force=demand.amount) if edge == "clamped" else 0.0
            return float(max(centre, rim))
        pressure = demand.amount if demand.action == "pressure" else demand.amount / (math.pi * radius**2)
        centre = plates.circular_uniform_centre_moment(
            edge=edge, pressure=pressure, radius=radius, poisson_ratio=POISSON
        )
        rim = (
            plates.circular_uniform_edge_moment(pressure=pressure, radius=radius)
            if edge == "clamped"
            else 0.0
        )
        return float(max(centre, rim))

    def _shear_per_width(self, form: Any, demand: Demand) -> float:
        """Largest shear force per width, N/mm: at the rim, or round the patch."""
        if form.outline == "round":
            area, rim = math.pi / 4.0 * form.diameter**2, math.pi * form.diameter
        else:
            area, rim = form.length * form.width, 2.0 * (form.length + form.width)
        if demand.action == "middle":
            return float(demand.amount / (math.pi * form.patch_diameter))
        total = demand.amount * area if demand.action == "pressure" else demand.amount
        # On a rectangle the middle of the long side carries up to about twice the mean (estimate, safe side).
        return float(total / rim * (1.0 if form.outline == "round" else 2.0))

    def stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array | None:
        """In the skin, with the finite-element correction for a soft core."""
        return self._skin_stress(form, demand, lie, block)

    def _skin_stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array:
        plain = plates.sandwich_skin_stress(
            moment=self._moment(form, demand), skin_modulus=1.0, skin_poisson_ratio=POISSON,
            thickness=form.thickness, rigidity=self._rigidity(form, lie, block),
        )  # fmt: skip
        correction = plates.sandwich_skin_correction(
            edge=EDGES[form.edge], skin_modulus=1.0, core_modulus=block.core_along(lie)
        )
        has_core = 2.0 * self._skin(form, lie, block) < form.thickness
        return np.asarray(plain * np.where(has_core, correction, 1.0))

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Skin torn, crushed or dimpled; core sheared or crushed; linear theory."""

        def tension(block: Block, strengths: Strengths) -> Array:
            stress = self._skin_stress(form, demand, lie, block)
            return section_states.tension_strength(strengths, lie) / stress

        def compression(block: Block, strengths: Strengths) -> Array:
            return np.asarray(strengths.pressed / self._skin_stress(form, demand, lie, block))

        def dimpling(block: Block, strengths: Strengths) -> Array:
            section = self.critical_section(form, demand, lie, block)
            buckling = section_states.buckling_of_faces(section, block, lie)
            relative = buckling / self._skin_stress(form, demand, lie, block)
            return strengths.modulus * np.where(section.core_area > 0.0, relative, section_states.NEVER)

        def shear(block: Block, strengths: Strengths) -> Array:
            force = self._shear_per_width(form, demand)
            has_core = 2.0 * self._skin(form, lie, block) < form.thickness
            # 1.5 V / t at mid-depth, exact when solid; thin skins over a core come to V / d (Allen), so it is up to
            # 1.5 times too much there, and does not fall as skins grow.
            carrying = np.where(has_core, self._core_shear(lie, block), 1.0) * form.thickness / 1.5
            return np.asarray(strengths.shear_between * carrying / force)

        def bent(block: Block, strengths: Strengths) -> Array:
            return np.asarray(self.deflection(form, demand, lie, block, strengths))

        words = section_states.tears_words(lie)
        states = (
            state("skin_tension", words, section_states.tension_basis(lie), PLATE_LOG_SD, tension),
            state("compression", "the pressed side crushes", "pressed", PLATE_LOG_SD, compression),
            state("dimpling", "the pressed skin buckles over the infill", "core", 0.25, dimpling),
            state("core_shear", "the infill shears through near the edge or the load", "core", 0.25, shear),
            section_states.holds_while(
                "it bends by more than half its thickness, where the formulas end", 0.5 * form.thickness, bent
            ),
        )
        return (*states, self._crushing(form, demand, lie)) if demand.action == "middle" else states

    def _core_shear(self, lie: Lie, block: Block) -> Array:
        """Core over solid in shear through the thickness; the weaker of the two ways where layers stand."""
        if lie.depth_faces == "layers":
            return block.core.shear_build
        return np.minimum(block.core.shear_build, block.core.shear_in_plane)

    def _crushing(self, form: Any, demand: Demand, lie: Lie) -> LimitState:
        """The core gives way under the spot that presses; the skin spreads it by its thickness, a dense core further."""

        def crush(block: Block, strengths: Strengths) -> Array:
            skin = self._skin(form, lie, block)
            spread = skin + (form.thickness / 2.0 - skin) * block.core_through(lie)
            pressure = demand.amount / (np.pi / 4.0 * (form.patch_diameter + 2.0 * spread) ** 2)
            core = section_states.core_collapse(block, strengths, block.core_through(lie))
            return np.asarray(np.where(2.0 * skin < form.thickness, core, strengths.pressed) / pressure)

        return state("crushing", "the infill crushes under the load", "core", 0.25, crush)

    def deflection(
        self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths
    ) -> Array | None:
        """At the middle, bending with shear."""
        modulus = strengths.modulus_across if lie.across else strengths.modulus
        rigidity = modulus * self._rigidity(form, lie, block)
        skin = self._skin(form, lie, block)
        soft = plates.sandwich_shear_rigidity(
            skin_shear_modulus=1.0, core_shear_modulus=self._core_shear(lie, block), thickness=form.thickness,
            skin_thickness=np.minimum(skin, 0.499 * form.thickness),
        )  # fmt: skip
        solid = plates.plate_shear_rigidity(shear_modulus=1.0, thickness=form.thickness)
        shear = strengths.shear_modulus * np.minimum(soft, solid)
        edge = EDGES[form.edge]
        if form.outline == "round":
            return self._round_deflection(form, demand, edge, rigidity, shear)
        short, long = sorted((form.length, form.width))
        if demand.action == "middle":
            bent = plates.rectangular_point_deflection(
                edge=edge, force=demand.amount, short=short, long=long, rigidity=rigidity
            )
            # Shear as on the circle within the short side (estimate).
            sheared = plates.circular_point_shear_deflection(
                force=demand.amount, radius=short / 2.0, patch_radius=form.patch_diameter / 2.0,
                shear_rigidity=shear,
            )  # fmt: skip
            return np.asarray(bent + sheared)
        pressure = demand.amount if demand.action == "pressure" else demand.amount / (short * long)
        return np.asarray(
            plates.rectangular_uniform_deflection(
                edge=edge, pressure=pressure, short=short, long=long, rigidity=rigidity, shear_rigidity=shear
            )
        )

    def _round_deflection(
        self, form: Any, demand: Demand, edge: plates.Edge, rigidity: Array, shear: Array
    ) -> Array:
        radius = form.diameter / 2.0
        if demand.action == "middle":
            bent = plates.circular_point_deflection(
                edge=edge, force=demand.amount, radius=radius, rigidity=rigidity, poisson_ratio=POISSON
            )
            sheared = plates.circular_point_shear_deflection(
                force=demand.amount,
                radius=radius,
                patch_radius=form.patch_diameter / 2.0,
                shear_rigidity=shear,
            )
            return np.asarray(bent + sheared)
        pressure = demand.amount if demand.action == "pressure" else demand.amount / (math.pi * radius**2)
        bent = plates.circular_uniform_deflection(
            edge=edge, pressure=pressure, radius=radius, rigidity=rigidity, poisson_ratio=POISSON
        )
        sheared = plates.circular_uniform_shear_deflection(
            pressure=pressure, radius=radius, shear_rigidity=shear
        )
        return np.asarray(bent + sheared)

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """A slab."""
        if form.outline == "round":
            area, rim = math.pi / 4.0 * form.diameter**2, math.pi * form.diameter
            long = wide = form.diameter
        else:
            area, rim = form.length * form.width, 2.0 * (form.length + form.width)
            long, wide = form.length, form.width
        if orientation == "flat":
            return Envelope(area, rim, form.thickness, (long, wide, form.thickness), area)
        mean = area / long
        return Envelope(
            mean * form.thickness, 2.0 * (mean + form.thickness), long, (wide, form.thickness, long),
            mean * form.thickness,
        )  # fmt: skip

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Thickness, span."""
        span = "diameter" if form.outline == "round" else ("length" if form.length <= form.width else "width")
        return (grown(form, "thickness", "thickness"), shrunk(form, span, "span"))


PLATE = PlateModel()
