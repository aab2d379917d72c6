"""A cantilever snap arm."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from recommender.duty.fields import Angle, Length, SheetPart


class SnapArm(SheetPart):
    """A springy arm that must bend by `undercut` to pass its catch."""

    kind: Literal["snap_arm"]
    length: Length
    width: Length
    root_thickness: Length
    tip_thickness: Length | None = None
    undercut: Length
    lead_angle: Angle = 30.0
    friction: float = Field(default=0.3, gt=0, le=1)
    stays_bent: bool = False

    @model_validator(mode="after")
    def _tapers_towards_the_tip(self) -> SnapArm:
        if self.tip_thickness is not None and self.tip_thickness > self.root_thickness:
            raise ValueError("tip_thickness must not exceed root_thickness.")
        return self
