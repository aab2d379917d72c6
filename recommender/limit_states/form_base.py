"""What most forms answer alike, so that each form's module holds only its own mechanics."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from recommender.duty.loads import Load
from recommender.limit_states.form_model import (
    Array,
    Block,
    Demand,
    LimitState,
    SectionSummary,
    ShapeChange,
    StateBasis,
)
from recommender.mechanics import notches
from recommender.section.lie import Lie
from recommender.section.strengths import Strengths

SHARPEST_CORNER = (
    0.083  # root radius over depth below which the corner table has no figure; used when none is given
)


@dataclass(frozen=True, slots=True)
class RingSummary:
    """Area and core area (mm^2) of a section that is no plain rectangle or ring of its own class."""

    area: float
    core_area: Array


class FormBase:
    """Defaults: all three orientations, force in N, no reason against the formulas, no movement or strain."""

    @property
    def gives(self) -> bool:
        """Whether the form has a formula for its movement."""
        return type(self).deflection is not FormBase.deflection

    def orientations(self, form: Any, load: Load) -> tuple[str, ...]:
        """All three."""
        return ("flat", "edge", "upright")

    def demand(self, form: Any, load: Load, index: int, action: str) -> Demand:
        """Torque in N mm for a twist, else force in N."""
        if action == "twist":
            return Demand(index, load, action, float(load.torque or 0.0), "N·mm")
        return Demand(index, load, action, float(load.force or 0.0), "N")

    def problems(self, form: Any, demand: Demand) -> tuple[str, ...]:
        """None."""
        return ()

    def deflection(
        self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths
    ) -> Array | None:
        """Not known."""
        return None

    def strain(self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths) -> Array | None:
        """Stress over modulus where the stress is known."""
        stress = self.stress(form, demand, lie, block)
        return (
            None
            if stress is None
            else stress / (strengths.modulus_across if lie.across else strengths.modulus)
        )

    def stress(self, form: Any, demand: Demand, lie: Lie, block: Block) -> Array | None:
        """Not known."""
        return None

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """None."""
        return ()

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> SectionSummary:
        """To be given by each form."""
        raise NotImplementedError


def grown(form: Any, name: str, words: str, by: float = 0.2, least: float = 1.0) -> ShapeChange:
    """`form` with one size larger by a fifth (at least a millimetre)."""
    size = float(getattr(form, name))
    larger = size + max(least, round(by * size, 1))
    return ShapeChange(f"{words} {size:g} to {larger:g} mm", form.model_copy(update={name: larger}))


def shrunk(form: Any, name: str, words: str, by: float = 0.1) -> ShapeChange:
    """`form` with one size smaller by a tenth."""
    size = float(getattr(form, name))
    smaller = float(f"{size * (1.0 - by):.3g}")
    return ShapeChange(f"{words} {size:g} to {smaller:g} mm", form.model_copy(update={name: smaller}))


def state(
    key: str, words: str, basis: StateBasis, log_sd: float, multiple: Any, note: str = ""
) -> LimitState:
    """A limit state whose multiple is a function of (block, strengths)."""

    def on_grid(block: Block, strengths: Strengths) -> Array:
        return np.asarray(multiple(block, strengths))

    return LimitState(key, words, basis, log_sd, on_grid, note)


def corner_loss(inner_radius: float, thickness: float, strengths: Strengths) -> Array:
    """Factor by which an inside corner raises the stress that counts: K_f = 1 + q (K_t - 1).

    A corner without a radius is taken as the sharpest for which a figure is known. The notch sensitivity q is
    an estimate for all materials; measured prints with notches under a still load lost nothing in their plane,
    so this errs to the safe side.
    """
    radius = max(inner_radius, SHARPEST_CORNER * thickness)
    peak = notches.corner_factor(inner_radius=radius, thickness=thickness)
    return np.asarray(notches.notch_factor(stress_concentration=peak, sensitivity=strengths.notch))


def ring_beside_hole(block: Block, thickness: float) -> Array:
    """Solid thickness next to a hole in a ring of `thickness` mm: the hole's own walls, all where walls meet."""
    own, both = block.skins.walls_mm, block.skins.filled(thickness, block.skins.walls_mm)
    return np.where(2.0 * both >= thickness, thickness, own)


def ring_of_walls(block: Block, thickness: float, faces: int = 2) -> Array:
    """Solid thickness of a ring of `thickness` mm that has walls on `faces` of its faces."""
    return np.minimum(faces * block.skins.walls_mm, thickness)
