"""Pin lug: net section beside the hole, pressure of the pin, shear-out and splitting of the free end."""

from __future__ import annotations

from typing import Any

import numpy as np

from recommender.limit_states import section_states
from recommender.limit_states.form_base import FormBase, grown, state
from recommender.limit_states.form_model import Array, Block, Demand, Envelope, LimitState, ShapeChange
from recommender.mechanics import lugs, notches
from recommender.section.lie import Lie, member_lie
from recommender.section.printed import RectangularSection
from recommender.section.strengths import Strengths

WHOLE_RING = (
    0.3  # ring of walls over the hole's diameter that carries the pin as solid plastic does (estimate)
)
LUG_LOG_SD = 0.12  # contact fit within 3.9 %; play of the pin and printed holes (estimate)


class LugModel(FormBase):
    """An eye that is pulled by a pin."""

    def problems(self, form: Any, demand: Demand) -> tuple[str, ...]:
        """The contact fit holds for 2 <= W/D <= 4 and 1 <= e/D <= 2."""
        sizes = {
            "width": form.width,
            "hole_diameter": form.hole_diameter,
            "edge_distance": form.edge_distance,
        }
        if not bool(lugs.valid_lug(**sizes)):
            return (
                f"width {form.width:g} mm and edge distance {form.edge_distance:g} mm on a hole of "
                f"{form.hole_diameter:g} mm lie outside what is known (width 2 to 4 holes, edge distance 1 to 2 holes)",
            )
        return ()

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """Flat, the pull lies in the layers; upright it crosses them."""
        return member_lie(orientation, "thickness")

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> RectangularSection:
        """The net section: two strips beside the hole, each with walls on both sides."""
        strip = (form.width - form.hole_diameter) / 2.0
        one = RectangularSection.printed(form.thickness, strip, block.skins, lie)
        return RectangularSection(one.depth, 2.0 * strip, one.depth_face, 2.0 * one.breadth_face)

    def _carrying(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array:
        """Share of the solid section that carries."""
        net = self.critical_section(form, demand, lie, block)
        return np.asarray(net.axial(block.core_along(lie)) / net.area)

    def stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array | None:
        """Mean tension of the net section."""
        return self._net_stress(form, demand, lie, block)

    def _net_stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array:
        plain = lugs.net_section_stress(
            force=demand.amount, width=form.width, hole_diameter=form.hole_diameter, thickness=form.thickness
        )
        return np.asarray(plain / self._carrying(form, demand, lie, block))

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Net section with its peak, pin pressure, shear-out, splitting."""
        sizes = {"hole_diameter": form.hole_diameter, "edge_distance": form.edge_distance}
        peak = lugs.lug_stress_concentration(width=form.width, **sizes)
        force, thickness = demand.amount, form.thickness
        tension = section_states.tension_basis(lie)
        # Both planes of shear-out hold the pull and the thickness: on edge they are layer planes themselves,
        # upright their shear acts on the layer planes as well.
        between = lie.orientation != "flat"

        def net(block: Block, strengths: Strengths) -> Array:
            stress = self._net_stress(form, demand, lie, block)
            loss = notches.notch_factor(stress_concentration=peak, sensitivity=strengths.notch)
            return np.asarray(section_states.tension_strength(strengths, lie) / (stress * loss))

        def bearing(block: Block, strengths: Strengths) -> Array:
            pressure = lugs.bearing_stress(force=force, hole_diameter=form.hole_diameter, thickness=thickness)
            # The faces carry in full; between them a ring of walls WHOLE_RING of the hole thick does too.
            faces = 2.0 * self.critical_section(form, demand, lie, block).depth_face / thickness
            ring = np.clip(block.skins.walls_mm / (WHOLE_RING * form.hole_diameter), block.core.in_plane, 1.0)
            return np.asarray(strengths.pressed * (faces + (1.0 - faces) * ring) / pressure)

        def shear_out(block: Block, strengths: Strengths) -> Array:
            stress = lugs.shear_out_stress_edge(force=force, thickness=thickness, **sizes)
            strength = strengths.shear_between if between else strengths.shear_within
            return np.asarray(strength * self._carrying(form, demand, lie, block) / stress)

        def split(block: Block, strengths: Strengths) -> Array:
            stress = lugs.free_end_tension(force=force, thickness=thickness, **sizes)
            # The split is pulled open across the width, which an eye on edge has standing on its layers.
            strength = strengths.across if lie.orientation == "edge" else strengths.along
            return np.asarray(strength * self._carrying(form, demand, lie, block) / stress)

        return (
            state("net_section", section_states.tears_words(lie) + " beside the hole", tension, LUG_LOG_SD, net),
            state("pin_pressure", "the pin crushes its way into the hole", "pressed", 0.2, bearing),
            state("shear_out", "the pin shears out of the end",
                  "shear_between" if between else "shear_within", LUG_LOG_SD, shear_out),
            state("free_end", "the end splits behind the pin",
                  "across" if lie.orientation == "edge" else "along", LUG_LOG_SD, split),
            section_states.linear_strain(
                lambda block, strengths: np.asarray(self.strain(form, demand, lie, block, strengths))
            ),
        )  # fmt: skip

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """A strip with a hole."""
        area = form.length * form.width - np.pi / 4.0 * form.hole_diameter**2
        volume = area * form.thickness
        rim = 2.0 * (form.length + form.width) + np.pi * form.hole_diameter
        length, width, thickness = form.length, form.width, form.thickness
        if orientation == "flat":
            return Envelope(float(area), float(rim), thickness, (length, width, thickness), float(area))
        tall, foot = (width, length) if orientation == "edge" else (length, width)
        return Envelope(
            float(volume / tall), 2.0 * (foot + thickness), tall, (foot, thickness, tall), float(volume / tall),
            support_mm3=float(np.pi / 8.0 * form.hole_diameter**2 * thickness),
        )  # fmt: skip

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Thickness, width, edge distance."""
        return (
            grown(form, "thickness", "thickness"),
            grown(form, "width", "width"),
            grown(form, "edge_distance", "edge distance"),
        )


LUG = LugModel()
