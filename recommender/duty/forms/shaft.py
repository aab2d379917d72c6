"""A shaft."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.duty.fields import SheetPart, Size
from recommender.duty.sections import Section


class Shaft(SheetPart):
    """A straight member that is twisted."""

    kind: Literal["shaft"]
    length: Size = Field(description="length")
    section: Section = Field(description="cross-section")
