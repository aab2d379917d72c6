"""Bosses: for a thread-forming screw, or for a heat-set insert."""

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


class InsertBoss(SheetPart):
    """A boss that holds a heat-set threaded insert (give the insert's measured outer diameter)."""

    kind: Literal["insert_boss"]
    outer_diameter: Size = Field(description="outside diameter of the boss")
    insert_diameter: Size = Field(description="outside diameter of the insert, measured")
    insert_length: Size = Field(description="length of the insert")
    height: Size = Field(description="height of the boss")

    @model_validator(mode="after")
    def _insert_fits(self) -> InsertBoss:
        self._must_be_smaller("insert_diameter", "outer_diameter", "Leave plastic round the insert.")
        if self.insert_length > self.height:
            raise ValueError(
                f"insert_length ({self.insert_length:g} mm) cannot be more than height ({self.height:g} mm). "
                "Make the boss higher or use a shorter insert."
            )
        return self
