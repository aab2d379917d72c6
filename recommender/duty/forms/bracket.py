"""An L-bracket screwed to a wall."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from recommender.duty.fields import Gap, SheetPart, Size


class Bracket(SheetPart):
    """An L with a wall leg and an arm; the load acts at `reach` from the wall.

    `arm_depth` is the arm's size in the direction of the load, `width` its size along the wall,
    `inner_radius` the fillet of the corner. Screw rows are counted from the lower edge of the wall leg.
    """

    kind: Literal["bracket"]
    reach: Size = Field(description="distance of the load from the wall")
    arm_depth: Size = Field(description="size of the arm along the load (up and down)")
    width: Size = Field(description="size along the wall")
    inner_radius: Gap = Field(default=0.0, description="fillet in the corner")
    leg_height: Size = Field(description="height of the leg on the wall")
    leg_thickness: Size = Field(description="thickness of that leg")
    screw_diameter: Size = Field(description="diameter of the screws")
    head_diameter: Size = Field(description="diameter of the screw heads, or of their washers")
    top_row_height: Size = Field(description="height of the upper screws above the leg's lower edge")
    bottom_row_height: Gap = Field(default=0.0, description="height of the lower screws above that edge")
    screws_per_row: int = Field(default=1, ge=1, le=10, description="screws side by side")

    @model_validator(mode="after")
    def _rows_lie_on_the_leg(self) -> Bracket:
        self._must_be_smaller("bottom_row_height", "top_row_height", "Both count from the leg's lower edge.")
        self._must_be_smaller("top_row_height", "leg_height", "The upper screws must lie on the leg.")
        self._must_be_smaller(
            "screw_diameter", "head_diameter", "Give the washer's diameter if there is one."
        )
        self._must_be_smaller("leg_thickness", "reach", "The load must hang in front of the leg.")
        if self.screws_per_row * self.head_diameter > self.width:
            raise ValueError(
                f"{self.screws_per_row} heads of {self.head_diameter:g} mm do not fit side by side "
                f"on a width of {self.width:g} mm. Use fewer or smaller screws, or a wider bracket."
            )
        return self
