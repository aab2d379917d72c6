"""Press fit: the hub bursts, is strained too far for good, or slips."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from recommender.duty.loads import Load
from recommender.limit_states import section_states
from recommender.limit_states.form_base import FormBase, RingSummary, grown, ring_beside_hole, shrunk, state
from recommender.limit_states.form_model import Array, Block, Demand, Envelope, LimitState, ShapeChange
from recommender.mechanics import press_fit
from recommender.section.lie import Lie
from recommender.section.strengths import Strengths

FRICTION = 0.25  # plastic on steel or plastic, dry (estimate, textbooks use up to 0.3)
STEEL_MODULUS_MPA, STEEL_POISSON = 210_000.0, 0.30
GRIP_LOG_SD = 0.35  # friction and the real interference of printed bores (estimate)
RELAXED = 0.5  # share of the grip left for good: 0.48 after 1000 h with a creep exponent of 0.08 (estimate)
BURST_RESERVE = 1.5  # kept between the hoop stress of pressing on and the strength (estimate)


class PressFitModel(FormBase):
    """A printed hub on a shaft."""

    def demand(self, form: Any, load: Load, index: int, action: str) -> Demand:
        """The force or torque that must not make it slip; without one, the interference itself in mm."""
        if load.torque is not None:
            return Demand(index, load, "twist", float(load.torque), "N·mm")
        if load.force is not None:
            return Demand(index, load, "pull", float(load.force), "N")
        return Demand(index, load, "stay", float(form.interference), "mm")

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """Flat, the axis stands and the hub's ring lies in the layers."""
        if orientation == "flat":
            return Lie("flat", "walls", "layers", False, "with the bore's axis standing")
        return Lie("upright", "walls", "walls", True, "with the bore's axis lying")

    def orientations(self, form: Any, load: Load) -> tuple[str, ...]:
        """Axis standing or lying."""
        return ("flat", "upright")

    def _ring(self, form: Any, block: Block) -> Array:
        return ring_beside_hole(block, (form.outer_diameter - form.shaft_diameter) / 2.0)

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> RingSummary:
        """The ring round the bore."""
        total = (form.outer_diameter - form.shaft_diameter) / 2.0
        area = total * form.length
        return RingSummary(area, area * (1.0 - self._ring(form, block) / total))

    def _pressure_per_modulus(
        self, form: Any, block: Block, modulus: Array, poisson: Array
    ) -> tuple[Array, Array]:
        """Contact pressure (MPa) and outer diameter (mm) of the solid ring that counts."""
        outer = form.shaft_diameter + 2.0 * self._ring(form, block)
        printed = form.shaft == "printed"
        pressure = press_fit.contact_pressure(
            bore=form.shaft_diameter, outer_diameter=outer, interference=form.interference, hub_modulus=modulus,
            hub_poisson_ratio=poisson, shaft_modulus=modulus if printed else STEEL_MODULUS_MPA,
            shaft_poisson_ratio=poisson if printed else STEEL_POISSON,
        )  # fmt: skip
        return np.asarray(pressure), np.asarray(outer)

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """Hoop tension, lasting strain, grip."""

        def burst(block: Block, strengths: Strengths) -> Array:
            pressure, outer = self._pressure_per_modulus(form, block, strengths.modulus, strengths.poisson)
            hoop = press_fit.hoop_stress_inner(
                pressure=pressure, bore=form.shaft_diameter, outer_diameter=outer
            )
            return np.asarray(section_states.tension_strength(strengths, lie) / (BURST_RESERVE * hoop))

        def lasting(block: Block, strengths: Strengths) -> Array:
            strain = press_fit.interference_strain(interference=form.interference, bore=form.shaft_diameter)
            share = strengths.across / strengths.along if lie.across else 1.0
            return np.asarray(strengths.lasting_strain * share / strain)

        def grip(block: Block, strengths: Strengths) -> Array:
            pressure, _ = self._pressure_per_modulus(form, block, strengths.modulus, strengths.poisson)
            force = press_fit.axial_force(
                pressure=pressure, bore=form.shaft_diameter, length=form.length, friction=FRICTION
            )
            if demand.load.kind != "sustained":  # the fit itself stays on, whatever the load does
                force = force * RELAXED
            if demand.action == "twist":
                force = press_fit.slip_torque(axial_force=force, bore=form.shaft_diameter)
            return np.asarray(force / demand.amount)

        states = [
            state("hub_burst", section_states.tears_words(lie) + " round the bore", "strain", 0.2, burst),
            state(
                "lasting_strain",
                "the hub is stretched further than it stands for good",
                "strain",
                0.2,
                lasting,
            ),
        ]
        if demand.action != "stay":
            states.insert(0, state("grip", "the fit slips", "core", GRIP_LOG_SD, grip))
        return tuple(states)

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """A ring."""
        outer, bore = form.outer_diameter, form.shaft_diameter
        area = math.pi / 4.0 * (outer**2 - bore**2)
        if orientation == "flat":
            return Envelope(area, math.pi * (outer + bore), form.length, (outer, outer, form.length), area)
        mean = area * form.length / outer
        return Envelope(
            mean,
            2.0 * (form.length + outer),
            outer,
            (form.length, outer, outer),
            mean,
            support_mm3=0.1 * mean * outer,
        )

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Interference, length, hub."""
        return (
            shrunk(form, "interference", "interference", by=0.3),
            grown(form, "interference", "interference", by=0.3, least=0.0),
            grown(form, "length", "length"),
            grown(form, "outer_diameter", "hub"),
        )


PRESS_FIT = PressFitModel()
