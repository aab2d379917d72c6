"""Hook: the inner fibre of its bend (curved beam with finite-element correction), radial split, shank."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from recommender.limit_states import section_states
from recommender.limit_states.form_base import FormBase, grown, state
from recommender.limit_states.form_model import Array, Block, Demand, Envelope, LimitState, ShapeChange
from recommender.mechanics import curved_beam
from recommender.section.lie import Lie, member_lie
from recommender.section.printed import RectangularSection
from recommender.section.strengths import Strengths

HOOK_LOG_SD = 0.10  # corrected curved-beam stress against finite elements (validation table), load's place


class HookModel(FormBase):
    """A load hangs in a bend."""

    def problems(self, form: Any, demand: Demand) -> tuple[str, ...]:
        """The curved-beam correction was computed down to r_i / h = 0.2."""
        if form.inner_radius / form.depth < 0.2:
            return (
                f"an inner radius of {form.inner_radius:g} mm is less than a fifth of the depth of {form.depth:g} mm; "
                "for so sharp a bend no sound figure is known",
            )
        return ()

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """Flat, the layers lie in the plane of the bend; otherwise some of the bend is pulled across them."""
        if orientation == "flat":
            return member_lie("flat", "width")
        if orientation == "edge":
            return Lie("edge", "layers", "walls", True, "standing on its back")
        return member_lie("upright", "width")

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> RectangularSection:
        """The throat of the bend."""
        return RectangularSection.printed(form.depth, form.width, block.skins, lie)

    def _middle(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array:
        """Mean modulus between the walls over the skin's; 1 where the section is solid."""
        throat = self.critical_section(form, demand, lie, block)
        return np.asarray(
            curved_beam.middle_modulus(
                skin_modulus=1.0, core_modulus=block.core_along(lie), width=form.width,
                top_bottom_thickness=throat.breadth_face,
            )
        )  # fmt: skip

    def _inner_stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> tuple[Array, Array]:
        """Corrected stress at the inner fibre (MPa) and where it can be trusted."""
        throat = self.critical_section(form, demand, lie, block)
        middle = self._middle(form, demand, lie, block)
        section = curved_beam.curved_section(
            inner_radius=form.inner_radius, height=form.depth, width=form.width,
            wall_thickness=throat.depth_face, skin_modulus=1.0, middle_modulus=middle,
        )  # fmt: skip
        fibres = curved_beam.composite_stresses(
            force=demand.amount, moment_about_centre=-demand.amount * form.load_offset,
            inner_radius=form.inner_radius, height=form.depth, skin_modulus=1.0, section=section,
        )  # fmt: skip
        sizes = {"inner_radius": form.inner_radius, "height": form.depth, "middle_modulus": middle}
        corrected = fibres.inner * curved_beam.inner_fibre_correction(**sizes)
        return np.asarray(corrected), np.asarray(curved_beam.valid_hook(**sizes))

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Inner fibre, radial split, shank."""

        def inner(block: Block, strengths: Strengths) -> Array:
            stress, trusted = self._inner_stress(form, demand, lie, block)
            # Where the formula cannot be trusted the candidate is left out, not given a number.
            return np.where(trusted, section_states.tension_strength(strengths, lie) / stress, 0.0)

        def split(block: Block, strengths: Strengths) -> Array:
            centroid = form.inner_radius + form.depth / 2.0
            stress = curved_beam.radial_stress(
                moment=demand.amount * (centroid + form.load_offset), radius=centroid, height=form.depth,
                width=form.width,
            )  # fmt: skip
            # At mid-depth only top, bottom and core carry; the walls lie at the inside and the outside.
            carrying = self._middle(form, demand, lie, block)
            return np.asarray(section_states.tension_strength(strengths, lie) * carrying / stress)

        def section(block: Block) -> RectangularSection:
            return self.critical_section(form, demand, lie, block)

        words = section_states.tears_words(lie) + " at the inside of the bend"
        basis = section_states.tension_basis(lie)
        # The shank stands over the outside of the bend, so the load bends it too.
        lever = form.inner_radius + form.depth / 2.0 + form.load_offset
        bent = demand.amount * lever
        shank = section_states.skin_tension(section, lie, bent, demand.amount)
        contact = max(form.inner_radius, section_states.LEAST_CONTACT_MM)
        return (
            state("inner_fibre", words, basis, HOOK_LOG_SD, inner),
            state("radial_split", "the bend splits along its middle", basis, 0.20, split),
            state("shank", "the shank tears", basis, shank.log_sd, shank.multiple),
            section_states.skin_compression(section, lie, bent),
            section_states.skin_dimpling(section, lie, bent),
            section_states.core_shear(section, lie, demand.amount),
            section_states.skin_shear(section, lie, 0.0, demand.amount),
            section_states.crushing(section, lie, demand.amount, contact),
            self._small_opening(form, demand, lie),
        )

    def _small_opening(self, form: Any, demand: Demand, lie: Lie) -> LimitState:
        def opened(block: Block, strengths: Strengths) -> Array:
            return np.asarray(self.deflection(form, demand, lie, block, strengths))

        words = "the bend opens by more than a tenth of its diameter, where the formulas end"
        return section_states.holds_while(words, 0.2 * (form.inner_radius + form.depth / 2.0), opened)

    def stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array | None:
        """At the inner fibre."""
        return self._inner_stress(form, demand, lie, block)[0]

    def deflection(
        self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths
    ) -> Array | None:
        """Opening of a half ring by Castigliano (thin ring), P R (pi R^2 / 2 + 4 R o + pi o^2) / EI.

        From M = P (R sin(theta) + o) over theta 0 to pi, with o the offset of the load beyond the centre.
        """
        throat = self.critical_section(form, demand, lie, block)
        radius = form.inner_radius + form.depth / 2.0
        modulus = strengths.modulus_across if lie.across else strengths.modulus
        rigidity = modulus * throat.flexural(block.core_along(lie))
        offset = form.load_offset
        shape = math.pi / 2.0 * radius**2 + 4.0 * radius * offset + math.pi * offset**2
        return np.asarray(demand.amount * radius * shape / rigidity)

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """A half ring and a shank."""
        radius = form.inner_radius + form.depth / 2.0
        run = math.pi * radius + form.shank_length
        volume = run * form.depth * form.width
        wide, long = (
            2.0 * (form.inner_radius + form.depth),
            form.shank_length + form.inner_radius + form.depth,
        )
        if orientation == "flat":
            area = volume / form.width
            return Envelope(area, 2.0 * (run + form.depth), form.width, (long, wide, form.width), area)
        tall, foot = (wide, long) if orientation == "edge" else (long, wide)
        return Envelope(
            volume / tall, 2.0 * (form.depth + form.width) * 1.5, tall, (foot, form.width, tall), volume / tall,
            support_mm3=form.width * math.pi * form.inner_radius**2 / 2.0,
        )  # fmt: skip

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Depth of the bend, width, a tighter bend."""
        changes = [grown(form, "depth", "depth of the bend"), grown(form, "width", "width")]
        smaller = round(0.8 * form.inner_radius, 1)
        if smaller >= 0.25 * form.depth:
            changes.append(
                ShapeChange(
                    f"inner radius {form.inner_radius:g} to {smaller:g} mm",
                    form.model_copy(update={"inner_radius": smaller}),
                )
            )
        return tuple(changes)


HOOK = HookModel()
