"""A lug with a pin through it."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from recommender.duty.fields import Length, SheetPart


class Lug(SheetPart):
    """A flat eye of `width` and `thickness`; the hole's centre lies `edge_distance` from the end."""

    kind: Literal["lug"]
    width: Length
    thickness: Length
    hole_diameter: Length
    edge_distance: Length
    length: Length = 40.0

    @model_validator(mode="after")
    def _hole_lies_inside(self) -> Lug:
        if self.hole_diameter >= self.width or self.edge_distance <= self.hole_diameter / 2:
            raise ValueError(
                "the hole must lie inside: hole_diameter < width, edge_distance > hole_diameter / 2."
            )
        return self
