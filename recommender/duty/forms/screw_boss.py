"""A boss for a thread-forming screw."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from recommender.duty.fields import SheetPart, Size


class ScrewBoss(SheetPart):
    """A boss into which a thread-forming screw is driven."""

    kind: Literal["screw_boss"]
    outer_diameter: Size = Field(description="outside diameter of the boss")
    hole_diameter: Size = Field(description="diameter of the pilot hole")
    screw_diameter: Size = Field(description="outside diameter of the screw's thread")
    engagement: Size = Field(description="length of thread in the plastic")
    height: Size = Field(description="height of the boss")

    @model_validator(mode="after")
    def _screw_fits(self) -> ScrewBoss:
        self._must_be_smaller("hole_diameter", "screw_diameter", "The thread needs plastic to cut into.")
        self._must_be_smaller("screw_diameter", "outer_diameter")
        if self.engagement > self.height:
            raise ValueError(
                f"engagement ({self.engagement:g} mm) cannot be more than height ({self.height:g} mm). "
                "Give the length of thread that sits in the plastic."
            )
        return self
