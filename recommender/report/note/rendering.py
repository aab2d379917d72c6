"""One page in the format asked for, and the file it goes to."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Literal

from recommender.errors import InputError
from recommender.report.note.content import Note

Format = Literal["pdf", "html", "md", "txt"]
FORMATS: tuple[Format, ...] = ("pdf", "html", "md", "txt")


def rendered(note: Note, form: Format, paper: str) -> bytes:
    """`note` as the bytes of a file; each renderer is loaded only when it is asked for."""
    if form == "pdf":
        from recommender.report.note.pdf import as_pdf

        return as_pdf(note, paper)
    if form == "html":
        from recommender.report.note.html import as_html

        return as_html(note, paper).encode()
    if form == "md":
        from recommender.report.note.markdown import as_markdown

        return as_markdown(note).encode()
    from recommender.report.note.plain import as_text

    return as_text(note).encode()


def write_whole(content: bytes, target: Path) -> None:
    """Write `content` to `target`, or nothing at all.

    Raises
    ------
    InputError
        The folder is missing or may not be written to.
    """
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.stem[:40]}", suffix=".part")
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(temporary).chmod(0o644)
        Path(temporary).replace(target)
    except OSError as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        raise InputError(
            "--out",
            f"{target} cannot be written ({error.strerror}).",
            "Name a file in a folder you may write to.",
        ) from None


def file_name(stem: str, kind: str, form: Format, language: str = "") -> str:
    """Name of the file where the user gives none: ``shelf-note.de.pdf``."""
    middle = f".{language}" if language else ""
    return f"{stem}-{kind}{middle}.{form}"
