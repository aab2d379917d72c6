"""Text in the order and with the glyphs that a PDF needs: substitutes, joined letters, right-to-left runs.

A PDF shows glyphs from left to right as they stand in the file, so right-to-left words are turned round here
and Arabic letters take their joined shapes. This is a small part of Unicode's rules (UAX 9), enough for a
name or an address; the HTML leaves all of it to the browser.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Container
from functools import cache

SUBSTITUTE = "\u25a1"  # white square, stands for a character that the font lacks

_JOINERS = "\u200c\u200d\ufe0e\ufe0f"
_MIRRORED = str.maketrans("()[]{}<>«»", ")(][}{><»«")


def substituted(text: str, known: Container[int]) -> str:
    """`text` with a visible square for each character that is not `known`; invisible joiners are left out."""
    shown = [
        char if ord(char) in known else SUBSTITUTE
        for char in unicodedata.normalize("NFC", text)
        if char not in _JOINERS
    ]
    return "".join(shown)


def visual(text: str) -> str:
    """`text` in the order of drawing; unchanged unless it holds right-to-left letters."""
    if not any(_is_rtl(char) for char in text):
        return text
    runs = _runs(joined(text))
    if _first_strong_is_rtl(text):
        runs.reverse()
    return "".join(_turned(run) if rtl else run for run, rtl in runs)


def joined(text: str) -> str:
    """Arabic letters of `text` in their joined shapes."""
    shapes = _shapes()
    letters = []
    for index, char in enumerate(text):
        own = shapes.get(char)
        if own is None:
            letters.append(char)
            continue
        before = shapes.get(_neighbour(text, index, -1), {})
        after = shapes.get(_neighbour(text, index, +1), {})
        joins_before = "final" in own and "initial" in before
        joins_after = "initial" in own and "final" in after
        shape = {(True, True): "medial", (True, False): "final", (False, True): "initial"}
        letters.append(own.get(shape.get((joins_before, joins_after), "isolated"), char))
    return "".join(letters)


def _neighbour(text: str, index: int, step: int) -> str:
    """Next letter in one direction, skipping marks that stand on letters."""
    index += step
    while 0 <= index < len(text) and unicodedata.combining(text[index]):
        index += step
    return text[index] if 0 <= index < len(text) else ""


@cache
def _shapes() -> dict[str, dict[str, str]]:
    """Shapes of each Arabic letter, from the Unicode table of presentation forms."""
    shapes: dict[str, dict[str, str]] = {}
    for code in (*range(0xFB50, 0xFBFF), *range(0xFE70, 0xFEFD)):
        parts = unicodedata.decomposition(chr(code)).split()
        if len(parts) == 2 and parts[0].startswith("<"):
            shapes.setdefault(chr(int(parts[1], 16)), {}).setdefault(parts[0].strip("<>"), chr(code))
    return shapes


def _is_rtl(char: str) -> bool:
    return unicodedata.bidirectional(char) in ("R", "AL")


def _is_ltr(char: str) -> bool:
    return unicodedata.bidirectional(char) in ("L", "EN", "AN")


def _first_strong_is_rtl(text: str) -> bool:
    strong = (char for char in text if unicodedata.bidirectional(char) in ("L", "R", "AL"))
    return _is_rtl(next(strong, "a"))


def _runs(text: str) -> list[tuple[str, bool]]:
    """Stretches of one direction; what has none joins the stretch before it, at the start the one after."""
    rtl = _first_strong_is_rtl(text)
    base = rtl
    directions = []
    for char in text:
        if _is_rtl(char):
            rtl = True
        elif _is_ltr(char):
            rtl = False
        directions.append(rtl)
    _give_neutral_ends_to_base(text, directions, base)
    runs: list[tuple[str, bool]] = []
    for char, direction in zip(text, directions, strict=True):
        if runs and runs[-1][1] == direction:
            runs[-1] = (runs[-1][0] + char, direction)
        else:
            runs.append((char, direction))
    return runs


def _give_neutral_ends_to_base(text: str, directions: list[bool], base: bool) -> None:
    """Spaces and signs between two directions, or at the end, take the direction of the whole."""
    index = 0
    while index < len(text):
        start = index
        while index < len(text) and not _is_rtl(text[index]) and not _is_ltr(text[index]):
            index += 1
        before = directions[start - 1] if start else base
        after = directions[index] if index < len(text) else base
        for place in range(start, index):
            directions[place] = before if before == after else base
        index = max(index, start + 1)


def _turned(run: str) -> str:
    """A right-to-left stretch from left to right; marks stay after their letter."""
    clusters: list[str] = []
    for char in run:
        if clusters and unicodedata.combining(char):
            clusters[-1] += char
        else:
            clusters.append(char)
    return "".join(reversed(clusters)).translate(_MIRRORED)
