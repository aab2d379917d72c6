"""A column."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.duty.fields import SheetPart, Size
from recommender.duty.sections import Section


class Column(SheetPart):
    """A straight member that is pushed and may buckle."""

    kind: Literal["column"]
    length: Size = Field(description="length")
    section: Section = Field(description="cross-section")
    ends: Literal["pinned", "fixed", "fixed_free"] = Field(
        default="pinned", description="how the ends are held"
    )
