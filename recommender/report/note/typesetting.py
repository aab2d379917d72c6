"""Words broken into lines of a given width."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from recommender.report.note.cleaning import ELLIPSIS

REGULAR, BOLD = "regular", "bold"

NO_BREAK = "\u00a0"
_UNIT_AFTER_FIGURE = re.compile(
    r"(?<=\d) (?=(?:°[CF]|kg|lb|g|oz|mm|in|kPa|psi|J|ft|N|lbf|µg|min|m|%)(?:\W|$))"
)

Measure = Callable[[str, str], float]  # (text, font) -> width in pt at a size of 1 pt


@dataclass
class Ruler:
    """Widths of words, each measured once."""

    measure: Measure
    known: dict[tuple[str, str], float] = field(default_factory=dict)

    def width(self, text: str, font: str, size: float) -> float:
        """Width of `text` in pt."""
        key = (text, font)
        if key not in self.known:
            self.known[key] = self.measure(text, font)
        return self.known[key] * size

    def lines(self, text: str, font: str, size: float, width: float, first: float = 0.0) -> list[str]:
        """`text` in lines no wider than `width`; the first line starts `first` further in."""
        space = self.width(" ", font, size)
        lines: list[str] = []
        line, used = "", first
        for word in _UNIT_AFTER_FIGURE.sub(NO_BREAK, text).split(" "):
            for piece in self._pieces(word, font, size, width):
                need = self.width(piece, font, size)
                if line and used + space + need <= width:
                    line, used = f"{line} {piece}", used + space + need
                elif not line and used + need <= width:
                    line, used = piece, used + need
                else:
                    lines.append(line)
                    line, used = piece, need
        return [*lines, line]

    def _pieces(self, word: str, font: str, size: float, width: float) -> list[str]:
        """`word`, or its pieces where it is wider than a whole line."""
        if self.width(word, font, size) <= width:
            return [word]
        pieces, piece, used = [], "", 0.0
        for char in word:
            need = self.width(char, font, size)
            if piece and used + need > width:
                pieces.append(piece)
                piece, used = "", 0.0
            piece, used = piece + char, used + need
        return [*pieces, piece]

    def at_most(
        self, text: str, font: str, size: float, width: float, most: int, first: float = 0.0
    ) -> list[str]:
        """As `lines`, but no more than `most`; the last one then ends in an ellipsis."""
        lines = self.lines(text, font, size, width, first)
        if len(lines) <= most:
            return lines
        last = lines[most - 1]
        indent = first if most == 1 else 0.0
        while last and indent + self.width(last + ELLIPSIS, font, size) > width:
            last = last[:-1]
        return [*lines[: most - 1], last.rstrip() + ELLIPSIS]
