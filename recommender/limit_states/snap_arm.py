"""Cantilever snap arm: the strain at its root against what the plastic stands once or again and again."""

from __future__ import annotations

from typing import Any

import numpy as np

from recommender.duty.loads import Load
from recommender.limit_states.form_base import FormBase, grown, shrunk, state
from recommender.limit_states.form_model import Array, Block, Demand, Envelope, LimitState, ShapeChange
from recommender.mechanics import snap
from recommender.section.lie import Lie, member_lie
from recommender.section.printed import RectangularSection
from recommender.section.strengths import Strengths

LARGEST_BEND = (
    0.2  # undercut over length up to which the linear strain holds within a few per cent (estimate)
)
FEW = 10  # repeats up to which a snap counts as used once (estimate)


class SnapArmModel(FormBase):
    """An arm that is bent by its undercut."""

    def demand(self, form: Any, load: Load, index: int, action: str) -> Demand:
        """The undercut in mm: it is imposed, whatever the force."""
        return Demand(index, load, "bend", float(form.undercut), "mm")

    def problems(self, form: Any, demand: Demand) -> tuple[str, ...]:
        """Short arms and strong tapers have no sound figure."""
        ratio = (form.tip_thickness or form.root_thickness) / form.root_thickness
        if not bool(snap.valid_arm(length=form.length, root_thickness=form.root_thickness)):
            return (
                f"an arm of {form.length:g} mm is shorter than five times its root of {form.root_thickness:g} mm; "
                "make it longer or thinner",
            )
        if not bool(snap.valid_taper(thickness_ratio=ratio)):
            return (
                f"a tip of {form.tip_thickness:g} mm is less than half the root; the arm would bend near its tip",
            )
        if form.undercut > LARGEST_BEND * form.length:
            return (
                f"an undercut of {form.undercut:g} mm is more than a fifth of the arm's length of "
                f"{form.length:g} mm; beam formulas do not hold for so large a bend",
            )
        if bool(snap.is_self_locking(friction=form.friction, angle_deg=form.lead_angle)):
            return (
                f"with a slope of {form.lead_angle:g} deg and friction {form.friction:g} no push bends the arm; "
                "make the slope flatter",
            )
        return ()

    def lie(self, form: Any, orientation: str, demand: Demand) -> Lie:
        """Bent through its thickness."""
        return member_lie(orientation, "thickness")

    def critical_section(self, form: Any, demand: Demand, lie: Lie, block: Block) -> RectangularSection:
        """The root."""
        return RectangularSection.printed(form.root_thickness, form.width, block.skins, lie)

    def _strain(self, form: Any) -> float:
        ratio = (form.tip_thickness or form.root_thickness) / form.root_thickness
        return float(
            snap.root_strain(
                deflection=form.undercut, length=form.length, root_thickness=form.root_thickness,
                thickness_ratio=ratio,
            )
        )  # fmt: skip

    def strain(self, form: Any, demand: Demand, lie: Lie, block: Block, strengths: Strengths) -> Array | None:
        """At the root."""
        return np.full(1, self._strain(form))

    def states(self, form: Any, demand: Demand, lie: Lie) -> tuple[LimitState, ...]:
        """The root's strain."""
        asked = self._strain(form)
        often = demand.load.kind == "cyclic" and (demand.load.cycles or 0) > FEW
        bent = form.stays_bent or demand.load.kind == "sustained"

        def root(block: Block, strengths: Strengths) -> Array:
            allowed = strengths.repeat_strain if often else strengths.once_strain
            allowed = np.minimum(allowed, strengths.lasting_strain) if bent else allowed
            share = strengths.across / strengths.along if lie.across else 1.0
            return np.asarray(allowed * share / asked)

        words = "the root of the arm is bent too far" + (" across its layers" if lie.across else "")
        note = "a fillet of half the root's thickness is taken for granted; a sharp corner cracks sooner"
        return (state("root_strain", words, "strain", 0.15, root, note),)

    def envelope(self, form: Any, orientation: str) -> Envelope:
        """A tapered strip."""
        mean = 0.5 * (form.root_thickness + (form.tip_thickness or form.root_thickness))
        length, width, thick = form.length, form.width, form.root_thickness
        if orientation == "flat":
            return Envelope(
                length * width, 2 * (length + width), mean, (length, width, thick), length * width
            )
        if orientation == "edge":
            return Envelope(length * mean, 2 * (length + mean), width, (length, thick, width), length * mean)
        return Envelope(width * mean, 2 * (width + mean), length, (width, thick, length), width * mean)

    def shape_changes(self, form: Any, demand: Demand) -> tuple[ShapeChange, ...]:
        """Longer, thinner, tapered, less undercut."""
        changes = [
            grown(form, "length", "arm length"),
            shrunk(form, "root_thickness", "root thickness", by=0.2),
            shrunk(form, "undercut", "undercut", by=0.2),
        ]
        if form.tip_thickness is None:
            half = round(0.5 * form.root_thickness, 2)
            changes.append(
                ShapeChange(
                    f"tapered to {half:g} mm at the tip", form.model_copy(update={"tip_thickness": half})
                )
            )
        return tuple(changes)


SNAP_ARM = SnapArmModel()
