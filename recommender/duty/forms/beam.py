"""A beam."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.duty.fields import SheetPart, Size
from recommender.duty.sections import Section


class Beam(SheetPart):
    """A straight member in bending over `span`; a cantilever's span is its free length."""

    kind: Literal["beam"]
    support: Literal["cantilever", "simply_supported", "fixed_both_ends"] = Field(
        description="how the ends are held"
    )
    span: Size = Field(description="between the supports; free length of a cantilever")
    section: Section = Field(description="cross-section")
