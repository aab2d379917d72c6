"""An L-bracket screwed to a wall."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from recommender.duty.fields import Gap, Length, SheetPart


class Bracket(SheetPart):
    """An L with a wall leg and an arm; the load acts at `reach` from the wall.

    `arm_depth` is the arm's size in the direction of the load, `width` its size along the wall,
    `inner_radius` the fillet of the corner. Screw rows are counted from the lower edge of the wall leg.
    """

    kind: Literal["bracket"]
    reach: Length
    arm_depth: Length
    width: Length
    inner_radius: Gap = 0.0
    leg_height: Length
    leg_thickness: Length
    screw_diameter: Length
    head_diameter: Length
    top_row_height: Length
    bottom_row_height: Gap = 0.0
    screws_per_row: int = Field(default=1, ge=1, le=10)

    @model_validator(mode="after")
    def _rows_lie_on_the_leg(self) -> Bracket:
        if not self.bottom_row_height < self.top_row_height < self.leg_height:
            raise ValueError("bottom_row_height < top_row_height < leg_height must hold.")
        if self.head_diameter <= self.screw_diameter:
            raise ValueError("head_diameter (or the washer's) must be larger than screw_diameter.")
        return self
