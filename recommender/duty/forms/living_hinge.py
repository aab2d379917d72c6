"""A living hinge."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.duty.fields import Angle, SheetPart, Size


class LivingHinge(SheetPart):
    """A thin web that bends by `angle` each time."""

    kind: Literal["living_hinge"]
    thickness: Size = Field(description="thickness of the thin web")
    length: Size = Field(description="length of the web across the fold")
    width: Size = Field(description="width of the web along the fold")
    angle: Angle = Field(description="how far it folds each time")
