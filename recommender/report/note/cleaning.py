"""Free text from a sheet, a profile or the log, made fit to stand on a page."""

from __future__ import annotations

import unicodedata

ELLIPSIS = "\u2026"


def clean(text: str, longest: int = 120) -> str:
    """`text` on one line, without control characters and direction overrides, cut to `longest` characters."""
    kept = "".join(" " if _is_break(char) else char for char in text if not _is_unprintable(char))
    return shortened(" ".join(kept.split()), longest)


def shortened(text: str, longest: int) -> str:
    """`text` cut to `longest` characters with an ellipsis, never inside a combined character."""
    if len(text) <= longest:
        return text
    cut = longest - 1
    while cut > 1 and unicodedata.combining(text[cut]):
        cut -= 1
    return text[:cut].rstrip() + ELLIPSIS


def _is_break(char: str) -> bool:
    return char in "\t\n\v\f\r\x1c\x1d\x1e\x85\u2028\u2029"


def _is_unprintable(char: str) -> bool:
    if _is_break(char):
        return False
    return unicodedata.category(char) in ("Cc", "Cs", "Cf") and char not in "\u200c\u200d"
