"""Hinge knuckle round a pin, and living hinge."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from recommender.duty.loads import Load
from recommender.limit_states import section_states
from recommender.limit_states.form_base import FormBase, RingSummary, grown, ring_of_walls, shrunk, state
from recommender.limit_states.form_model import Array, Block, Demand, Envelope, LimitState, ShapeChange
from recommender.mechanics import hinges, lugs, notches
from recommender.section.lie import Lie, member_lie
from recommender.section.printed import RectangularSection
from recommender.section.strengths import Strengths

UNEVEN = 1.3  # largest over mean bend of a printed web; the formula gives the least strain (estimate)
FEW_BENDS = 10  # bends up to which a living hinge counts as used once (estimate)


class HingeKnuckleModel(FormBase):
    """Knuckles whose leaves are pulled apart."""

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """With the pin standing the rings lie in the layers; otherwise they are pulled across them."""
        if orientation == "upright":
            return Lie("upright", "walls", "layers", False, "with the pin's axis standing")
        return Lie("flat", "walls", "walls", True, "with the leaf on the bed")

    def orientations(self, form: Any, load: Load) -> tuple[str, ...]:
        """Leaf on the bed, or pin standing."""
        return ("flat", "upright")

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> RingSummary:
        """The two walls beside the pin."""
        area = 2.0 * form.wall * form.knuckle_width
        return RingSummary(area, area * (1.0 - ring_of_walls(block, form.wall) / form.wall))

    def _carrying(self, form: Any, block: Block) -> Array:
        solid = ring_of_walls(block, form.wall) / form.wall
        return np.asarray(solid + (1.0 - solid) * block.core.in_plane)

    def stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array | None:
        """Tension beside the pin."""
        return self._ring_stress(form, demand, block)

    def _ring_stress(self, form: Any, demand: Demand, block: Block) -> Array:
        plain = hinges.knuckle_net_stress(
            force=demand.amount, wall_thickness=form.wall, width=form.knuckle_width
        )
        return np.asarray(plain / self._carrying(form, block))

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Ring with its peak (as a lug, held at the ends of what was fitted), pin pressure, printed pin."""
        outer = form.pin_diameter + 2.0 * form.wall
        peak = lugs.lug_stress_concentration(
            width=np.clip(outer / form.pin_diameter, 2.0, 4.0), hole_diameter=1.0,
            edge_distance=np.clip(outer / 2.0 / form.pin_diameter, 1.0, 2.0),
        )  # fmt: skip

        def ring(block: Block, strengths: Strengths) -> Array:
            stress = self._ring_stress(form, demand, block)
            loss = notches.notch_factor(stress_concentration=peak, sensitivity=strengths.notch)
            return np.asarray(section_states.tension_strength(strengths, lie) / (stress * loss))

        def bearing(block: Block, strengths: Strengths) -> Array:
            pressure = hinges.knuckle_bearing_stress(
                force=demand.amount, pin_diameter=form.pin_diameter, width=form.knuckle_width
            )
            return np.asarray(strengths.pressed * self._carrying(form, block) / pressure)

        def pin(block: Block, strengths: Strengths) -> Array:
            shear = lugs.pin_peak_shear_stress(
                force=demand.amount, pin_diameter=form.pin_diameter, shear_planes=form.shear_planes
            )
            # A printed pin lies along its layers at best; its shear crosses them at worst.
            return np.asarray(strengths.shear_between / shear)

        states = [
            state(
                "knuckle",
                section_states.tears_words(lie) + " round the pin",
                section_states.tension_basis(lie),
                0.15,
                ring,
            ),
            state("pin_pressure", "the pin crushes its way through the knuckle", "pressed", 0.2, bearing),
            section_states.linear_strain(
                lambda block, strengths: np.asarray(self.strain(form, demand, lie, block, strengths))
            ),
        ]
        if form.pin == "printed":
            states.append(state("pin_shear", "the printed pin shears", "shear_between", 0.15, pin))
        return tuple(states)

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """A ring as wide as the knuckle."""
        outer = form.pin_diameter + 2.0 * form.wall
        area = math.pi / 4.0 * (outer**2 - form.pin_diameter**2)
        if orientation == "upright":
            return Envelope(
                area,
                math.pi * (outer + form.pin_diameter),
                form.knuckle_width,
                (outer, outer, form.knuckle_width),
                area,
            )
        mean = area * form.knuckle_width / outer
        return Envelope(
            mean,
            2.0 * (form.knuckle_width + outer),
            outer,
            (form.knuckle_width, outer, outer),
            mean,
            support_mm3=0.05 * mean * outer,
        )

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Wall, width; a metal pin."""
        changes = [
            grown(form, "wall", "wall round the pin", by=0.3, least=0.5),
            grown(form, "knuckle_width", "knuckle width"),
        ]
        if form.pin == "printed":
            changes.append(
                ShapeChange("a steel pin instead of a printed one", form.model_copy(update={"pin": "steel"}))
            )
        return tuple(changes)


class LivingHingeModel(FormBase):
    """A thin web that is bent."""

    def demand(self, form: Any, load: Load, index: int, action: str) -> Demand:
        """The angle in degrees: it is imposed."""
        return Demand(index, load, "bend", float(form.angle), "deg")

    def problems(self, form: Any, demand: Demand) -> tuple[str, ...]:
        """The web must be long against its thickness."""
        if not bool(hinges.valid_living_hinge(thickness=form.thickness, length=form.length)):
            return (
                f"a web of {form.length:g} mm is shorter than five times its thickness of {form.thickness:g} mm; "
                "bending theory does not hold for it",
            )
        return ()

    def orientations(self, form: Any, load: Load) -> tuple[str, ...]:
        """Flat only: any other way the web bends across its layers."""
        return ("flat",)

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """Flat."""
        return member_lie("flat", "thickness")

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> RectangularSection:
        """The web."""
        return RectangularSection.printed(form.thickness, form.width, block.skins, lie)

    def strain(self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths) -> Array | None:
        """At the outer fibre."""
        return np.full(
            1,
            float(
                hinges.living_hinge_strain(thickness=form.thickness, length=form.length, angle_deg=form.angle)
            ),
        )

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Strain of the web."""
        asked = hinges.living_hinge_strain(thickness=form.thickness, length=form.length, angle_deg=form.angle)
        often = demand.load.kind == "cyclic" and (demand.load.cycles or 0) > FEW_BENDS

        def web(block: Block, strengths: Strengths) -> Array:
            allowed = strengths.repeat_strain if often else strengths.once_strain
            return np.asarray(allowed / (UNEVEN * asked))

        return (state("web_strain", "the web is bent too sharply and cracks", "strain", 0.2, web),)

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """A thin slab."""
        area = form.length * form.width
        return Envelope(
            area,
            2.0 * (form.length + form.width),
            form.thickness,
            (form.length, form.width, form.thickness),
            area,
        )

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Longer web, thinner web."""
        return (
            grown(form, "length", "web length", by=0.5),
            shrunk(form, "thickness", "web thickness", by=0.2),
        )


HINGE_KNUCKLE = HingeKnuckleModel()
LIVING_HINGE = LivingHingeModel()
