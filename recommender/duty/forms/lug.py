"""A lug with a pin through it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from recommender.duty.fields import SheetPart, Size


class Lug(SheetPart):
    """A flat eye of `width` and `thickness`; the hole's centre lies `edge_distance` from the end."""

    kind: Literal["lug"]
    width: Size = Field(description="width of the eye")
    thickness: Size = Field(description="thickness of the eye")
    hole_diameter: Size = Field(description="diameter of the hole")
    edge_distance: Size = Field(description="from the hole's centre to the end")
    length: Size = Field(default=40.0, description="length of the lug")

    @model_validator(mode="after")
    def _hole_lies_inside(self) -> Lug:
        self._must_be_smaller("hole_diameter", "width", "Leave plastic on both sides of the hole.")
        if self.edge_distance <= self.hole_diameter / 2:
            raise ValueError(
                f"edge_distance ({self.edge_distance:g} mm) must be more than half of hole_diameter "
                f"({self.hole_diameter / 2:g} mm). It runs from the hole's centre to the end."
            )
        return self
