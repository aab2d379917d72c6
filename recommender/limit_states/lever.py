"""Lever with a hub: bending at the root of the handle, pressure in the socket, bursting of the hub."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from recommender.limit_states import section_states
from recommender.limit_states.form_base import (
    FormBase,
    corner_loss,
    grown,
    ring_beside_hole,
    ring_of_walls,
    shrunk,
    state,
)
from recommender.limit_states.form_model import Array, Block, Demand, Envelope, LimitState, ShapeChange
from recommender.mechanics import beams, levers
from recommender.section.lie import Lie, member_lie
from recommender.section.printed import RectangularSection
from recommender.section.strengths import Strengths

SOCKET_CORNER = 2.0  # peak over mean hoop stress at a socket's corner (estimate: 2 to 3)
BACKING = (
    0.25  # solid plastic behind a flat that takes its pressure in full, over the flat's length (estimate)
)
SOCKET_LOG_SD = 0.30  # play and shape of the fit decide where it presses (estimate)


class LeverModel(FormBase):
    """A handle in bending on a hub that turns something with flats, or sits on a pin."""

    def problems(self, form: Any, demand: Demand) -> tuple[str, ...]:
        """The handle must be longer than twice its depth."""
        free = form.arm - form.hub_diameter / 2.0
        if free < 2.0 * form.width:
            return (
                f"the handle is free over {free:g} mm only, less than twice its width of {form.width:g} mm",
            )
        return ()

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """Bent through its width."""
        return member_lie(orientation, "width")

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> RectangularSection:
        """The root of the handle."""
        return RectangularSection.printed(form.width, form.thickness, block.skins, lie)

    def _root_moment(self, form: Any, demand: Demand) -> float:
        return float(
            levers.handle_root_moment(force=demand.amount, arm=form.arm, hub_offset=form.hub_diameter / 2.0)
        )

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Handle, socket, hub."""
        moment = self._root_moment(form, demand)

        def section(block: Block) -> RectangularSection:
            return self.critical_section(form, demand, lie, block)

        def root(block: Block, strengths: Strengths) -> Array:
            plain = section_states.skin_tension(section, lie, moment).multiple(block, strengths)
            return plain / corner_loss(form.root_radius, form.width, strengths)

        words = section_states.tears_words(lie) + " where the handle meets the hub"
        handle = (
            state("root_tension", words, section_states.tension_basis(lie), 0.10, root),
            section_states.skin_compression(section, lie, moment),
            section_states.skin_dimpling(section, lie, moment),
            section_states.core_shear(section, lie, demand.amount),
            section_states.skin_shear(section, lie, moment, demand.amount),
            section_states.crushing(section, lie, demand.amount, form.width),
            self._small_deflection(form, demand, lie),
        )
        return handle + (self._socket(form, demand, lie) if form.flats else self._bore(form, demand))

    def _small_deflection(self, form: Any, demand: Demand, lie: Lie) -> LimitState:
        def moved(block: Block, strengths: Strengths) -> Array:
            return np.asarray(self.deflection(form, demand, lie, block, strengths))

        words = "the handle bends by more than a tenth of its length, where the formulas end"
        return section_states.holds_while(words, 0.1 * (form.arm - form.hub_diameter / 2.0), moved)

    def _socket(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        torque = levers.hub_torque(force=demand.amount, arm=form.arm)
        side = levers.polygon_side(across_flats=form.across_flats, sides=form.flats)
        pressure = levers.socket_corner_pressure(
            torque=torque, sides=form.flats, side_length=side, socket_height=form.hub_height
        )
        corner = form.across_flats / math.cos(math.pi / form.flats)
        ring = (form.hub_diameter - corner) / 2.0

        def crush(block: Block, strengths: Strengths) -> Array:
            backed = ring_beside_hole(block, ring) / min(BACKING * side, ring)
            return np.asarray(strengths.pressed * np.clip(backed, block.core.in_plane, 1.0) / pressure)

        def burst(block: Block, strengths: Strengths) -> Array:
            solid = ring_of_walls(block, ring)
            carrying = solid + (ring - solid) * block.core.in_plane
            hoop = levers.socket_hoop_stress(
                corner_pressure=pressure, side_length=side, socket_height=form.hub_height, sides=form.flats,
                ring_thickness=carrying,
            )  # fmt: skip
            return np.asarray(section_states.tension_strength(strengths, lie) / (SOCKET_CORNER * hoop))

        return (
            state("socket_pressure", "the flats of the socket crush", "pressed", SOCKET_LOG_SD, crush),
            state(
                "hub_burst", "the hub bursts open", section_states.tension_basis(lie), SOCKET_LOG_SD, burst
            ),
        )

    def _bore(self, form: Any, demand: Demand) -> tuple[LimitState, ...]:
        torque = levers.hub_torque(force=demand.amount, arm=form.arm)
        # A key or cross pin presses on half the bore's depth (estimate).
        pressure = torque / (0.5 * form.across_flats * 0.5 * form.across_flats * form.hub_height)

        def crush(block: Block, strengths: Strengths) -> Array:
            return np.asarray(strengths.pressed / pressure)

        return (state("bore_pressure", "the bore crushes under its pin", "pressed", SOCKET_LOG_SD, crush),)

    def stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array | None:
        """At the root, without the corner."""
        section = self.critical_section(form, demand, lie, block)
        return section_states.outer_stress(section, block.core_along(lie), self._root_moment(form, demand))

    def deflection(
        self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths
    ) -> Array | None:
        """A cantilever from the hub to the hand."""
        section = self.critical_section(form, demand, lie, block)
        modulus = strengths.modulus_across if lie.across else strengths.modulus
        return np.asarray(
            beams.deflection(
                support="cantilever", load_at="end", span=form.arm - form.hub_diameter / 2.0, force=demand.amount,
                flexural_rigidity=modulus * section.flexural(block.core_along(lie)),
                shear_rigidity=strengths.shear_modulus * section.shear(block.core_shear(lie)),
            )
        )  # fmt: skip

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """Hub and handle."""
        socket = 0.8 * form.across_flats**2
        free = form.arm - form.hub_diameter / 2.0
        volume = (
            math.pi / 4.0 * form.hub_diameter**2 - socket
        ) * form.hub_height + free * form.width * form.thickness
        long, wide = form.arm + form.hub_diameter / 2.0, max(form.hub_diameter, form.width)
        tall = max(form.hub_height, form.thickness)
        if orientation == "flat":
            return Envelope(
                volume / tall,
                2.0 * free + math.pi * form.hub_diameter,
                tall,
                (long, wide, tall),
                volume / tall,
            )
        if orientation == "edge":
            return Envelope(
                volume / wide, 2.0 * (long + tall), wide, (long, tall, wide), volume / wide,
                support_mm3=0.3 * free * form.thickness * (form.hub_diameter - form.width) / 2.0,
            )  # fmt: skip
        return Envelope(volume / long, 2.0 * (wide + tall), long, (wide, tall, long), volume / long)

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Root depth, root radius, arm, thickness."""
        radius = max(round(0.35 * form.width, 1), form.root_radius + 2.0)
        return (
            grown(form, "width", "handle depth at the root"),
            ShapeChange(
                f"root radius {form.root_radius:g} to {radius:g} mm",
                form.model_copy(update={"root_radius": radius}),
            ),
            shrunk(form, "arm", "arm"),
            grown(form, "thickness", "thickness"),
            grown(form, "hub_diameter", "hub"),
            grown(form, "hub_height", "hub height"),
        )


LEVER = LeverModel()
