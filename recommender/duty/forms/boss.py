"""Bosses: for a thread-forming screw, or for a heat-set insert."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from recommender.duty.fields import Length, SheetPart


class ScrewBoss(SheetPart):
    """A boss into which a thread-forming screw is driven."""

    kind: Literal["screw_boss"]
    outer_diameter: Length
    hole_diameter: Length
    screw_diameter: Length
    engagement: Length
    height: Length

    @model_validator(mode="after")
    def _screw_fits(self) -> ScrewBoss:
        if not self.hole_diameter < self.screw_diameter < self.outer_diameter:
            raise ValueError("hole_diameter < screw_diameter < outer_diameter must hold.")
        if self.engagement > self.height:
            raise ValueError("engagement must not exceed height.")
        return self


class InsertBoss(SheetPart):
    """A boss that holds a heat-set threaded insert (give the insert's measured outer diameter)."""

    kind: Literal["insert_boss"]
    outer_diameter: Length
    insert_diameter: Length
    insert_length: Length
    height: Length

    @model_validator(mode="after")
    def _insert_fits(self) -> InsertBoss:
        if self.insert_diameter >= self.outer_diameter:
            raise ValueError("outer_diameter must be larger than insert_diameter.")
        if self.insert_length > self.height:
            raise ValueError("insert_length must not exceed height.")
        return self
