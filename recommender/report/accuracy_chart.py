"""Predicted against measured strength, as a drawing (SVG) on logarithmic axes."""

from __future__ import annotations

import math
from xml.sax.saxutils import escape

from recommender.regression.tables import Table

SIDE, LEFT, TOP, EDGE = 520.0, 74.0, 64.0, 20.0  # plot side and margins, px
TICKS = (5, 10, 20, 30, 50, 70, 100, 150)
LOW, HIGH = 4.0, 180.0  # MPa; widened when a bar lies outside
FONT = "font-family='sans-serif'"
# Filled circle: along the layers; open square: across. Told apart by shape, so no colour is needed.
INK, PALE = "#1f3b57", "#8a97a3"


class Axes:
    """Maps MPa to pixels, the same on both axes."""

    def __init__(self, low: float, high: float) -> None:
        self.low, self.high = math.log(low), math.log(high)

    def x(self, mpa: float) -> float:
        """Pixels from the left."""
        return LEFT + SIDE * (math.log(mpa) - self.low) / (self.high - self.low)

    def y(self, mpa: float) -> float:
        """Pixels from the top."""
        return TOP + SIDE * (self.high - math.log(mpa)) / (self.high - self.low)


def chart(table: Table, title: str) -> str:
    """SVG of predicted against measured strength with lines of no error and of 25 % either way."""
    values = [*table["measured_mpa"].tolist(), *table["predicted_mpa"].tolist()]
    low, high = min(LOW, 0.9 * min(values)), max(HIGH, 1.1 * max(values))
    axes = Axes(low, high)
    parts = [*_frame(axes, title), *_diagonals(axes, low, high), *_points(axes, table), *_legend(table)]
    width, height = LEFT + SIDE + EDGE, TOP + SIDE + 64
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:.0f} {height:.0f}' role='img' "
        f"aria-label='{escape(title)}'>\n<rect width='100%' height='100%' fill='white'/>\n"
        + "\n".join(parts)
        + "\n</svg>\n"
    )


def _text(x: float, y: float, words: str, size: int = 13, anchor: str = "middle", more: str = "") -> str:
    return f"<text x='{x:.1f}' y='{y:.1f}' font-size='{size}' text-anchor='{anchor}' {FONT} {more}>{escape(words)}</text>"


def _frame(axes: Axes, title: str) -> list[str]:
    bottom, middle = TOP + SIDE, LEFT + SIDE / 2
    parts = [
        _text(LEFT, 24, title, 16, "start"),
        f"<rect x='{LEFT}' y='{TOP}' width='{SIDE}' height='{SIDE}' fill='none' stroke='{INK}'/>",
        _text(middle, bottom + 46, "predicted, MPa", 14),
        _text(22, TOP + SIDE / 2, "measured, MPa", 14, more=f"transform='rotate(-90 22 {TOP + SIDE / 2})'"),
    ]
    for tick in TICKS:
        x, y = axes.x(tick), axes.y(tick)
        parts += [
            f"<path d='M{x:.1f} {TOP}V{bottom}M{LEFT} {y:.1f}H{LEFT + SIDE}' stroke='#e4e8eb' fill='none'/>",
            _text(x, bottom + 20, f"{tick}"), _text(LEFT - 8, y + 4, f"{tick}", anchor="end"),
        ]  # fmt: skip
    return parts


def _diagonals(axes: Axes, low: float, high: float) -> list[str]:
    parts = []
    for factor, dash, width in ((1.0, "", 1.5), (1.25, "6 4", 1.0), (0.8, "6 4", 1.0)):
        start, end = max(low, low / factor), min(high, high / factor)
        parts.append(
            f"<path d='M{axes.x(start):.1f} {axes.y(start * factor):.1f}L{axes.x(end):.1f} "
            f"{axes.y(end * factor):.1f}' stroke='{PALE}' stroke-width='{width}' stroke-dasharray='{dash}' "
            "fill='none'/>"
        )
    return parts


def _points(axes: Axes, table: Table) -> list[str]:
    parts = []
    for row in table.rows():
        x, y = axes.x(float(row["predicted_mpa"])), axes.y(float(row["measured_mpa"]))
        name = escape(f"{row['study']}: {row['material']}, {row['test']}")
        parts.append(_mark(x, y, bool(row["across"]), f"<title>{name}</title>"))
    return parts


def _mark(x: float, y: float, across: bool, inside: str = "") -> str:
    if across:
        return (
            f"<rect x='{x - 4:.1f}' y='{y - 4:.1f}' width='8' height='8' fill='none' stroke='{INK}' "
            f"stroke-width='1.4'>{inside}</rect>"
        )
    return f"<circle cx='{x:.1f}' cy='{y:.1f}' r='4' fill='{INK}' fill-opacity='0.55'>{inside}</circle>"


def _legend(table: Table) -> list[str]:
    across = int(table["across"].sum())
    return [
        _mark(LEFT + 8, 46, False), _text(LEFT + 18, 50, f"along the layers ({len(table) - across})", 13, "start"),
        _mark(LEFT + 188, 46, True), _text(LEFT + 198, 50, f"across ({across})", 13, "start"),
        f"<path d='M{LEFT + 300} 46h30' stroke='{PALE}' stroke-dasharray='6 4'/>",
        _text(LEFT + 336, 50, "25 % off either way", 13, "start"),
    ]  # fmt: skip
