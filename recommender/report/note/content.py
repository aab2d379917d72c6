"""What a note says, before anyone decides how it looks. Every text here is in the reader's language."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["note", "refusal", "maker"]
Style = Literal["facts", "bullets", "crosses", "steps", "boxes"]
Signal = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]

SIGNALS: tuple[Signal, ...] = ("DANGER", "WARNING", "CAUTION", "NOTICE")
INJURY_SIGNALS: tuple[Signal, ...] = ("DANGER", "WARNING", "CAUTION")  # these carry the alert triangle


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a block; `label` stands before it ("Place"); a `spare` line may go when room is short."""

    text: str
    label: str = ""
    spare: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """One warning: hazard, result, what to do, in this order (ANSI Z535.4)."""

    key: str
    signal: Signal
    word: str
    hazard: str
    result: str
    do_this: str

    @property
    def has_triangle(self) -> bool:
        """Whether the safety alert symbol stands before the word: only where someone can be hurt."""
        return self.signal in INJURY_SIGNALS


@dataclass(frozen=True, slots=True)
class Block:
    """A titled group of lines or warning boxes."""

    key: str
    title: str
    style: Style
    lines: tuple[Line, ...] = ()
    boxes: tuple[Box, ...] = ()


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure that must be seen first: the greatest load, the hottest place."""

    label: str
    value: str
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Labels:
    """Words that the renderers need."""

    hazard: str
    result: str
    do_this: str
    symbol: str
    colon: str = ":"


@dataclass(frozen=True, slots=True)
class Note:
    """One page for one reader."""

    kind: Kind
    language: str
    heading: str
    part: str
    document_title: str
    lead: str
    figures: tuple[Figure, ...]
    blocks: tuple[Block, ...]
    closing: tuple[str, ...]
    labels: Labels

    def block(self, key: str) -> Block:
        """The block called `key`; KeyError when the page has none."""
        try:
            return next(block for block in self.blocks if block.key == key)
        except StopIteration:
            raise KeyError(key) from None
