"""Knuckles of a hinge."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.duty.fields import SheetPart, Size


class HingeKnuckle(SheetPart):
    """Knuckles round a pin; the load pulls the leaves apart."""

    kind: Literal["hinge_knuckle"]
    pin_diameter: Size = Field(description="diameter of the pin")
    knuckle_width: Size = Field(description="width of one knuckle along the pin")
    wall: Size = Field(description="plastic round the pin")
    shear_planes: int = Field(
        default=2, ge=1, le=20, description="places where the pin crosses from one leaf to the other"
    )
    pin: Literal["steel", "printed"] = Field(default="steel", description="what the pin is made of")
