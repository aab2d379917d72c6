"""L-bracket: root of the arm with its corner, the leg above the arm, heads of the screws pulling through."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from recommender.limit_states import section_states
from recommender.limit_states.form_base import FormBase, corner_loss, grown, ring_beside_hole, shrunk, state
from recommender.limit_states.form_model import Array, Block, Demand, Envelope, LimitState, ShapeChange
from recommender.mechanics import beams, bolt_groups, fasteners
from recommender.section.lie import Lie, member_lie
from recommender.section.printed import RectangularSection
from recommender.section.strengths import Strengths

CORNER_LOG_SD = 0.12  # corner table against finite elements, and how the wall helps (estimate)
SCREW_LOG_SD = 0.25  # how the screws share the load (estimate)
ARM_HEIGHT = 0.5  # the arm is taken to leave the leg at half its height


class BracketModel(FormBase):
    """An arm on a leg that is screwed to a wall."""

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """On its side the L lies in the layers; otherwise the pull round the corner crosses them.

        Standing as mounted, the arm alone would lie along its layers, but the corner and the leg do not.
        """
        if orientation == "flat":
            return member_lie("flat", "width")
        if orientation == "edge":
            return Lie("edge", "walls", "walls", True, "standing on its wall leg")
        return Lie("upright", "layers", "walls", True, "standing as it is mounted")

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> RectangularSection:
        """The root of the arm."""
        return RectangularSection.printed(form.arm_depth, form.width, block.skins, lie)

    def _leg(self, form: Any, lie: Lie, block: Block) -> RectangularSection:
        return RectangularSection.printed(form.leg_thickness, form.width, block.skins, lie)

    def _heights(self, form: Any) -> list[float]:
        rows = (
            [form.bottom_row_height, form.top_row_height]
            if form.bottom_row_height > 0
            else [form.top_row_height]
        )
        return rows

    def _screw_tension(self, form: Any, demand: Demand) -> float:
        """Tension of one screw of the top row, N."""
        return float(
            bolt_groups.row_tension(
                moment=demand.amount * form.reach, heights=self._heights(form), screws_per_row=form.screws_per_row,
                row=-1,
            )
        )  # fmt: skip

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Arm, leg, screw heads."""
        moment = demand.amount * form.reach
        pull = self._screw_tension(form, demand)
        lever = max(form.top_row_height - ARM_HEIGHT * form.leg_height, 0.0)
        leg_moment = pull * form.screws_per_row * lever
        radius, basis = form.inner_radius, section_states.tension_basis(lie)

        def root(block: Block) -> RectangularSection:
            return self.critical_section(form, demand, lie, block)

        def corner(block: Block, strengths: Strengths) -> Array:
            plain = section_states.skin_tension(root, lie, moment).multiple(block, strengths)
            return plain / corner_loss(radius, form.arm_depth, strengths)

        def leg(block: Block, strengths: Strengths) -> Array:
            section = self._leg(form, lie, block)
            stress = section_states.outer_stress(section, block.core_along(lie), leg_moment)
            return section_states.tension_strength(strengths, lie) / (
                stress * corner_loss(radius, form.leg_thickness, strengths)
            )

        words = section_states.tears_words(lie)
        states = [
            state("arm_root", f"{words} at the corner", basis, CORNER_LOG_SD, corner),
            section_states.skin_compression(root, lie, moment),
            section_states.skin_dimpling(root, lie, moment),
            section_states.core_shear(root, lie, demand.amount),
            section_states.skin_shear(root, lie, moment, demand.amount),
            section_states.crushing(root, lie, demand.amount, form.arm_depth),
            self._small_deflection(form, demand, lie),
            *self._screws(form, demand, lie, pull),
        ]
        if leg_moment > 0.0:
            states.append(state("leg", f"{words} where the leg bends", basis, CORNER_LOG_SD, leg))
        return tuple(states)

    def _screws(self, form: Any, demand: Demand, lie: Lie, pull: float) -> tuple[LimitState, ...]:
        pressure = fasteners.head_bearing_stress(
            force=pull, head_diameter=form.head_diameter, hole_diameter=form.screw_diameter
        )
        each = bolt_groups.shear_per_screw(
            force=demand.amount, screws=form.screws_per_row * len(self._heights(form))
        )

        def solid_share(block: Block) -> Array:
            leg = self._leg(form, lie, block)
            solid = np.minimum(2.0 * leg.depth_face, form.leg_thickness)
            return np.asarray(
                (solid + (form.leg_thickness - solid) * block.core.in_plane) / form.leg_thickness
            )

        def crush(block: Block, strengths: Strengths) -> Array:
            # Walls round the hole stand under the head as a tube; the rest rests on the core.
            tube = ring_beside_hole(block, (form.head_diameter - form.screw_diameter) / 2.0)
            share = fasteners.head_bearing_stress(
                force=1.0, head_diameter=form.head_diameter, hole_diameter=form.screw_diameter
            ) / fasteners.head_bearing_stress(
                force=1.0, head_diameter=form.screw_diameter + 2.0 * tube, hole_diameter=form.screw_diameter
            )
            core = section_states.core_collapse(block, strengths, block.core.in_plane)
            carried = strengths.pressed * share + core * (1.0 - share)
            return np.asarray(np.where(solid_share(block) < 1.0, carried, strengths.pressed) / pressure)

        def pull_through(block: Block, strengths: Strengths) -> Array:
            area = math.pi * form.head_diameter * form.leg_thickness * solid_share(block)
            # On its side the L has the screw's axis in the layers: half the punched surface lies between layers.
            lying = fasteners.lying_boss_shear_strength(
                shear_strength=strengths.shear_within, interlayer_shear_strength=strengths.shear_between
            )
            shear = strengths.shear_between if lie.across else lying
            return np.asarray(shear * area / pull)

        def bearing(block: Block, strengths: Strengths) -> Array:
            area = form.screw_diameter * form.leg_thickness * solid_share(block)
            return np.asarray(strengths.pressed * area / each)

        return (
            state("head_pressure", "the plastic crushes under the screw head", "pressed", SCREW_LOG_SD, crush),
            state("pull_through", "the screw head pulls through the leg",
                  "shear_between", SCREW_LOG_SD, pull_through),
            state("screw_bearing", "the screw holes stretch", "pressed", SCREW_LOG_SD, bearing),
        )  # fmt: skip

    def _small_deflection(self, form: Any, demand: Demand, lie: Lie) -> LimitState:
        def moved(block: Block, strengths: Strengths) -> Array:
            return np.asarray(self.deflection(form, demand, lie, block, strengths))

        words = "the arm bends by more than a tenth of its reach, where the formulas end"
        return section_states.holds_while(words, 0.1 * form.reach, moved)

    def stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array | None:
        """At the root of the arm, without the corner."""
        section = self.critical_section(form, demand, lie, block)
        return section_states.outer_stress(section, block.core_along(lie), demand.amount * form.reach)

    def deflection(
        self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths
    ) -> Array | None:
        """The arm as a cantilever from the wall."""
        section = self.critical_section(form, demand, lie, block)
        modulus = strengths.modulus_across if lie.across else strengths.modulus
        return np.asarray(
            beams.deflection(
                support="cantilever", load_at="end", span=form.reach, force=demand.amount,
                flexural_rigidity=modulus * section.flexural(block.core_along(lie)),
                shear_rigidity=strengths.shear_modulus * section.shear(block.core_shear(lie)),
            )
        )  # fmt: skip

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """Arm and leg."""
        area = form.reach * form.arm_depth + form.leg_height * form.leg_thickness
        volume = area * form.width
        reach = form.reach + form.leg_thickness
        if orientation == "flat":
            return Envelope(
                area,
                2.0 * (form.reach + form.leg_height),
                form.width,
                (reach, form.leg_height, form.width),
                area,
            )
        if orientation == "edge":
            return Envelope(
                volume / reach, 2.0 * (form.width + form.arm_depth), reach, (form.leg_height, form.width, reach),
                form.leg_height * form.width,
            )  # fmt: skip
        tall = form.leg_height
        return Envelope(
            volume / tall, 2.0 * (form.width + form.leg_thickness), tall, (reach, form.width, tall),
            form.reach * form.width, support_mm3=form.reach * form.width * 0.5 * tall,
        )  # fmt: skip

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Root depth, corner radius, reach, washer, leg."""
        radius = max(round(0.5 * form.arm_depth, 1), form.inner_radius + 2.0)
        washer = round(1.6 * form.head_diameter, 1)
        return (
            grown(form, "arm_depth", "depth of the arm at the root"),
            ShapeChange(
                f"corner radius {form.inner_radius:g} to {radius:g} mm",
                form.model_copy(update={"inner_radius": radius}),
            ),
            shrunk(form, "reach", "reach"),
            grown(form, "leg_thickness", "thickness of the wall leg"),
            ShapeChange(
                f"washers under the heads, {form.head_diameter:g} to {washer:g} mm",
                form.model_copy(update={"head_diameter": washer}),
            ),
        )


BRACKET = BracketModel()
