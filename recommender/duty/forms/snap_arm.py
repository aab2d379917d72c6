"""A cantilever snap arm."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from recommender.duty.fields import Angle, Length, SheetPart, Size


class SnapArm(SheetPart):
    """A springy arm that must bend by `undercut` to pass its catch."""

    kind: Literal["snap_arm"]
    length: Size = Field(description="free length of the arm")
    width: Size = Field(description="width of the arm")
    root_thickness: Size = Field(description="thickness at the root")
    tip_thickness: Size | None = Field(
        default=None, description="thickness at the tip; as at the root when left out"
    )
    undercut: Length = Field(description="how far the arm bends to pass its catch")
    lead_angle: Angle = Field(default=30.0, description="slope of the nose going in")
    friction: float = Field(default=0.3, gt=0, le=1, description="coefficient of friction at the nose")
    stays_bent: bool = Field(default=False, description="the arm stays bent once in place")

    @model_validator(mode="after")
    def _tapers_towards_the_tip(self) -> SnapArm:
        if self.tip_thickness is not None and self.tip_thickness > self.root_thickness:
            raise ValueError(
                f"tip_thickness ({self.tip_thickness:g} mm) cannot be more than root_thickness "
                f"({self.root_thickness:g} mm). An arm tapers towards its tip."
            )
        self._must_be_smaller("undercut", "length", "The arm bends by far less than its length.")
        self._must_be_smaller("root_thickness", "length")
        if self.lead_angle >= 90:
            raise ValueError(
                f"lead_angle ({self.lead_angle:g} deg) must be below 90 deg. 30 deg goes in well."
            )
        return self
