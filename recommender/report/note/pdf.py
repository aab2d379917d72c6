"""The note as a tagged PDF of one page with its fonts inside."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from recommender.report.note.content import Note
from recommender.report.note.glyphs import substituted, visual
from recommender.report.note.layout import Item, Run, Shape, Sheet, lay_out
from recommender.report.note.tagging import Structure
from recommender.report.note.typesetting import BOLD, REGULAR, Ruler

FONTS = Path(__file__).resolve().parent / "fonts"
_FILES = {REGULAR: "DejaVuSansCondensed.ttf", BOLD: "DejaVuSansCondensed-Bold.ttf"}
_NAMES = {REGULAR: "PartdutySans", BOLD: "PartdutySans-Bold"}

# Red, green, blue. Each signal's colour follows ANSI Z535.1; the word and the frame say the same without it.
INKS: dict[str, tuple[float, float, float]] = {
    "ink": (0.1, 0.1, 0.1),
    "soft": (0.3, 0.3, 0.3),
    "rule": (0.7, 0.7, 0.7),
    "panel": (0.94, 0.94, 0.93),
    "DANGER": (0.74, 0.0, 0.12),
    "WARNING": (0.93, 0.46, 0.0),
    "CAUTION": (0.98, 0.8, 0.1),
    "NOTICE": (0.11, 0.31, 0.56),
}


def as_pdf(note: Note, paper: str = "a4") -> bytes:
    """`note` as the bytes of a PDF file on `paper` ("a4" or "letter")."""
    return painted(lay_out(note, paper, ruler()), note)


def ruler() -> Ruler:
    """Measures words in the fonts of the page, as they will be drawn."""
    fonts = {name: _font(name) for name in _FILES}

    def measure(text: str, font: str) -> float:
        width: float = fonts[font].stringWidth(_drawn(text, font), 1.0)
        return width

    return Ruler(measure)


def painted(sheet: Sheet, note: Note) -> bytes:
    """`sheet` drawn, with its structure, title and language."""
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(sheet.width, sheet.height), invariant=1, pageCompression=1)
    for name in _FILES:
        _font(name)
    canvas.setTitle(note.document_title)
    canvas.setSubject(note.heading)
    canvas.setCreator("partduty")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    structure = Structure(canvas)
    for item in sheet.items:
        _draw_item(canvas, structure, item)
    canvas.showPage()
    structure.finish(note.language)
    canvas.save()
    return file.getvalue()


@cache
def _font(name: str) -> Any:
    font = TTFont(_NAMES[name], str(FONTS / _FILES[name]))
    pdfmetrics.registerFont(font)
    return font


def _drawn(text: str, font: str) -> str:
    return substituted(visual(text), _font(font).face.charToGlyph)


def _draw_item(canvas: Canvas, structure: Structure, item: Item) -> None:
    if item.shapes:
        with structure.artifact():
            for shape in item.shapes:
                _draw_shape(canvas, shape)
    for part in item.parts:
        with structure.marked(item.path, part.role, part.alt):
            if part.figure is not None:
                _draw_shape(canvas, part.figure)
            _draw_runs(canvas, part.runs)


def _draw_runs(canvas: Canvas, runs: tuple[Run, ...]) -> None:
    for index, run in enumerate(runs):
        canvas.setFillColorRGB(*INKS[run.ink])
        canvas.setFont(_NAMES[run.font], run.size)
        # A space at the end of each line but the last keeps words apart when the text is read or copied.
        text = _drawn(run.text, run.font) + (" " if index < len(runs) - 1 else "")
        canvas.drawString(run.x, run.y, text)


def _draw_shape(canvas: Canvas, shape: Shape) -> None:
    if shape.kind == "triangle":
        _draw_triangle(canvas, shape)
        return
    if shape.fill:
        canvas.setFillColorRGB(*INKS[shape.fill])
    if shape.stroke:
        canvas.setStrokeColorRGB(*INKS[shape.stroke])
        canvas.setLineWidth(shape.line)
    canvas.rect(
        shape.x,
        shape.y,
        shape.width,
        shape.height,
        stroke=int(bool(shape.stroke)),
        fill=int(bool(shape.fill)),
    )


def _draw_triangle(canvas: Canvas, shape: Shape) -> None:
    """The safety alert symbol: a triangle with an exclamation mark, readable without its colour."""
    x, y, width, height = shape.x, shape.y, shape.width, shape.height
    outline = canvas.beginPath()
    outline.moveTo(x, y)
    outline.lineTo(x + width, y)
    outline.lineTo(x + width / 2, y + height)
    outline.close()
    canvas.setFillColorRGB(*INKS["CAUTION"])
    canvas.setStrokeColorRGB(*INKS["ink"])
    canvas.setLineWidth(0.09 * height)
    canvas.setLineJoin(1)
    canvas.drawPath(outline, stroke=1, fill=1)
    canvas.setFillColorRGB(*INKS["ink"])
    middle, stroke = x + width / 2, 0.1 * width
    canvas.rect(middle - stroke / 2, y + 0.32 * height, stroke, 0.34 * height, stroke=0, fill=1)
    canvas.rect(middle - stroke / 2, y + 0.14 * height, stroke, 0.1 * height, stroke=0, fill=1)
