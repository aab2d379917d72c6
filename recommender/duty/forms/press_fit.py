"""A hub pressed on a shaft."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from recommender.duty.fields import Length, SheetPart


class PressFit(SheetPart):
    """A printed hub pressed on a shaft; `interference` is on the diameter."""

    kind: Literal["press_fit"]
    shaft_diameter: Length
    outer_diameter: Length
    interference: Length
    length: Length
    shaft: Literal["steel", "printed"] = "steel"

    @model_validator(mode="after")
    def _hub_is_larger(self) -> PressFit:
        if self.outer_diameter <= self.shaft_diameter:
            raise ValueError("outer_diameter must be larger than shaft_diameter.")
        if self.interference > self.shaft_diameter / 10:
            raise ValueError("interference is on the diameter and cannot exceed a tenth of it.")
        return self
