"""Screw boss and heat-set insert: pull-out, stripping or spinning, layers pulled off a standing boss."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from recommender.limit_states import section_states
from recommender.limit_states.form_base import (
    FormBase,
    RingSummary,
    grown,
    ring_beside_hole,
    ring_of_walls,
    state,
)
from recommender.limit_states.form_model import Array, Block, Demand, Envelope, LimitState, ShapeChange
from recommender.mechanics import fasteners
from recommender.section.lie import Lie
from recommender.section.strengths import Strengths

WALL_SHEAR = 0.8  # shear of a ring of printed walls over that within the layers (estimate)
PULL_OUT_LOG_SD = 0.35  # no pull-out force of an extrusion-printed boss was found in figures (estimate)
SOUND_RING_MM = 2.0  # solid plastic wanted round an insert (estimate)


class _BossModel(FormBase):
    """What both bosses share."""

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """Upright, the axis stands and a pull along it peels layers."""
        if orientation == "upright":
            return Lie("upright", "walls", "walls", True, "with the hole's axis standing")
        return Lie(
            "flat" if orientation == "flat" else "edge",
            "walls",
            "layers",
            False,
            "with the hole's axis lying",
        )

    def _bore(self, form: Any) -> float:
        return float(form.hole_diameter if form.kind == "screw_boss" else form.insert_diameter)

    def _beside_hole(self, form: Any, block: Block) -> Array:
        """Solid thickness of plastic next to the hole, mm."""
        return ring_beside_hole(block, (form.outer_diameter - self._bore(form)) / 2.0)

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> RingSummary:
        """The ring round the hole."""
        total = (form.outer_diameter - self._bore(form)) / 2.0
        area = math.pi / 4.0 * (form.outer_diameter**2 - self._bore(form) ** 2)
        return RingSummary(area, area * (1.0 - ring_of_walls(block, total) / total))

    def _shear(self, form: Any, lie: Lie, block: Block, strengths: Strengths) -> Array:
        """Shear strength met by the thread or the knurl, MPa."""
        within = WALL_SHEAR * strengths.shear_within
        if lie.across:
            return np.asarray(within)
        return np.asarray(
            fasteners.lying_boss_shear_strength(
                shear_strength=within, interlayer_shear_strength=strengths.shear_between
            )
        )

    def _peel(self, form: Any, demand: Demand, lie: Lie) -> LimitState:
        """The boss itself tears off: between layers where its axis stands."""

        def multiple(block: Block, strengths: Strengths) -> Array:
            section = self.critical_section(form, demand, lie, block)
            core = block.core.build if lie.across else block.core.in_plane
            carrying = 1.0 - section.core_area / section.area * (1.0 - core)
            stress = fasteners.boss_axial_stress(
                force=demand.amount, outer_diameter=form.outer_diameter, bore=self._bore(form)
            )
            return np.asarray(section_states.tension_strength(strengths, lie) * carrying / stress)

        words = "the pull peels the boss apart between layers" if lie.across else "the boss tears off"
        return state("peel", words, section_states.tension_basis(lie), 0.15, multiple)

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """A short tube."""
        outer, bore, height = form.outer_diameter, self._bore(form), form.height
        area = math.pi / 4.0 * (outer**2 - bore**2)
        if orientation == "upright":
            return Envelope(area, math.pi * (outer + bore), height, (outer, outer, height), area)
        mean = area * height / outer
        return Envelope(
            mean, 2.0 * (height + outer), outer, (height, outer, outer), mean, support_mm3=0.1 * mean * outer
        )


class ScrewBossModel(_BossModel):
    """A thread-forming screw."""

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Pull-out; stripping when tightened; peeling."""
        depth = (form.screw_diameter - form.hole_diameter) / 2.0
        force = demand.amount
        if demand.action == "twist":
            force = float(fasteners.clamp_force(torque=demand.amount, diameter=form.screw_diameter))

        def pull_out(block: Block, strengths: Strengths) -> Array:
            met = fasteners.ring_strength(
                ring_thickness=self._beside_hole(form, block), thread_depth=depth,
                ring_strength=self._shear(form, lie, block, strengths),
                infill_strength=strengths.shear_within * block.core.shear_in_plane,
            )  # fmt: skip
            out = fasteners.thread_pull_out(
                diameter=form.screw_diameter, engaged_length=form.engagement, shear_strength=met
            )
            # A boss thinner than twice the screw splits before its thread holds in full (estimate).
            sound = min((form.outer_diameter / form.screw_diameter - 1.0), 1.0)
            return np.asarray(out * sound / force)

        words = "the thread strips out" if demand.action == "twist" else "the screw pulls its thread out"
        # A screw driven home clamps the boss between head and thread, so only a pull peels it.
        states = [
            state(
                "thread",
                words,
                "shear_within" if lie.across else "shear_between",
                PULL_OUT_LOG_SD,
                pull_out,
            )
        ]
        if demand.action == "pull":
            states.append(self._peel(form, demand, lie))
        return tuple(states)

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Deeper thread, thicker boss."""
        longer = round(form.engagement + form.screw_diameter / 2.0, 1)
        deeper = ShapeChange(
            f"engagement {form.engagement:g} to {longer:g} mm",
            form.model_copy(update={"engagement": longer, "height": max(form.height, longer)}),
        )
        return (deeper, grown(form, "outer_diameter", "boss"))


class InsertBossModel(_BossModel):
    """A heat-set insert."""

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Pull-out or spinning; peeling."""

        def hold(block: Block, strengths: Strengths) -> Array:
            shear = self._shear(form, lie, block, strengths)
            sizes = {"diameter": form.insert_diameter, "length": form.insert_length, "shear_strength": shear}
            holds = (
                fasteners.insert_torque_out(**sizes)
                if demand.action == "twist"
                else fasteners.insert_pull_out(**sizes)
            )
            # Less than SOUND_RING_MM of solid plastic round the insert holds in proportion (estimate).
            sound = np.minimum(self._beside_hole(form, block) / SOUND_RING_MM, 1.0)
            return np.asarray(holds * sound / demand.amount)

        words = "the insert spins in its hole" if demand.action == "twist" else "the insert pulls out"
        states = [
            state("insert", words, "shear_within" if lie.across else "shear_between", PULL_OUT_LOG_SD, hold)
        ]
        if demand.action == "pull":
            states.append(self._peel(form, demand, lie))
        return tuple(states)

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Longer insert, thicker boss."""
        longer = round(1.5 * form.insert_length, 1)
        deeper = ShapeChange(
            f"a longer insert, {form.insert_length:g} to {longer:g} mm",
            form.model_copy(update={"insert_length": longer, "height": max(form.height, longer)}),
        )
        return (deeper, grown(form, "outer_diameter", "boss"))


SCREW_BOSS = ScrewBossModel()
INSERT_BOSS = InsertBossModel()
