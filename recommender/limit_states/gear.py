"""Spur gear: bending of one tooth at its root (Lewis)."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from recommender.duty.loads import Load
from recommender.limit_states import section_states
from recommender.limit_states.form_base import FormBase, RingSummary, grown, state
from recommender.limit_states.form_model import Array, Block, Demand, Envelope, LimitState, ShapeChange
from recommender.mechanics import gear
from recommender.section.lie import Lie
from recommender.section.strengths import Strengths

TOOTH_LOG_SD = 0.30  # profile error and load sharing of printed teeth (estimate)


class GearModel(FormBase):
    """A tooth in bending; the gear is taken to turn slowly."""

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """Flat, the axis stands and the teeth lie in the layers."""
        if orientation == "flat":
            return Lie("flat", "walls", "layers", False, "with its axis standing")
        return Lie("upright", "walls", "walls", True, "standing on its rim")

    def orientations(self, form: Any, load: Load) -> tuple[str, ...]:
        """Axis standing or lying."""
        return ("flat", "upright")

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> RingSummary:
        """The root of a tooth, about 1.9 modules thick."""
        root = 1.9 * form.module_size
        area = root * form.face_width
        return RingSummary(area, area * np.maximum(1.0 - 2.0 * block.skins.walls_mm / root, 0.0))

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Tooth root."""
        force = gear.tangential_force(torque=demand.amount, teeth=float(form.teeth), module=form.module_size)
        stress = gear.tooth_root_stress(
            tangential_force=force, face_width=form.face_width, module=form.module_size,
            form_factor=gear.lewis_form_factor(teeth=float(form.teeth)),
        )  # fmt: skip

        def root(block: Block, strengths: Strengths) -> Array:
            section = self.critical_section(form, demand, lie, block)
            core = section.core_area / section.area
            solid = 1.0 - core * (1.0 - block.core.in_plane)
            strength = section_states.tension_strength(strengths, lie) * gear.PRINTED_TOOTH_DERATING
            return np.asarray(strength * solid / stress)

        words = section_states.tears_words(lie) + " at the root of a tooth"
        return (state("tooth_root", words, section_states.tension_basis(lie), TOOTH_LOG_SD, root,
                      note="one tooth in contact, slow turning (below 2 m/s at the pitch line)"),)  # fmt: skip

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """A disc of the pitch diameter with teeth round it."""
        pitch = form.teeth * form.module_size
        outer = pitch + 2.0 * form.module_size
        area = math.pi / 4.0 * pitch**2
        if orientation == "flat":
            return Envelope(
                area, 2.0 * math.pi * pitch, form.face_width, (outer, outer, form.face_width), area
            )
        mean = area * form.face_width / outer
        return Envelope(
            mean,
            2.0 * (form.face_width + outer),
            outer,
            (outer, form.face_width, outer),
            mean,
            support_mm3=0.1 * mean * outer,
        )

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Wider face, coarser teeth."""
        return (
            grown(form, "face_width", "face width"),
            grown(form, "module_size", "module", by=0.25, least=0.25),
        )


GEAR = GearModel()
