"""A straight bar."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from recommender.duty.fields import SheetPart, Size
from recommender.duty.sections import Section


class Bar(SheetPart):
    """A straight member that is pulled, pushed, twisted or bent (simply supported when bent)."""

    kind: Literal["bar"]
    length: Size = Field(description="length")
    section: Section = Field(description="cross-section")
