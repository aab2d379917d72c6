"""Hinges: knuckles round a pin, and a living hinge."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.duty.fields import Angle, Length, SheetPart


class HingeKnuckle(SheetPart):
    """Knuckles round a pin; the load pulls the leaves apart."""

    kind: Literal["hinge_knuckle"]
    pin_diameter: Length
    knuckle_width: Length
    wall: Length
    shear_planes: int = Field(default=2, ge=1, le=20)
    pin: Literal["steel", "printed"] = "steel"


class LivingHinge(SheetPart):
    """A thin web that bends by `angle` each time."""

    kind: Literal["living_hinge"]
    thickness: Length
    length: Length
    width: Length
    angle: Angle
