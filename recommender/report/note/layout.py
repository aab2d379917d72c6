"""Where everything stands on the one page: items with a box, runs of text and plain shapes, in reading order.

The type shrinks step by step down to 8.5 pt; if that is not enough, what users wrote is shortened, then spare
lines go. A warning is never left out. Lengths are pt (1/72 in), y runs upward from the foot of the page.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from recommender.errors import PartdutyError
from recommender.report.note.cleaning import shortened
from recommender.report.note.content import Block, Box, Figure, Labels, Line, Note
from recommender.report.note.typesetting import BOLD, REGULAR, Ruler

PAPERS: dict[str, tuple[float, float]] = {"a4": (595.276, 841.89), "letter": (612.0, 792.0)}
SMALLEST = 8.5  # pt; the floor of any type on the page

GRID = (0.24, 0.36, 0.25, 0.15)  # shares of the width for the columns of the trace

Path = tuple[tuple[str, str], ...]


class NoteTooLongError(PartdutyError):
    """The page cannot hold what it must say, even at the smallest type."""


@dataclass(frozen=True, slots=True)
class Run:
    """One line of text; `y` is its baseline."""

    x: float
    y: float
    text: str
    font: str
    size: float
    ink: str = "ink"


@dataclass(frozen=True, slots=True)
class Shape:
    """A rectangle or the alert triangle, by its lower left corner."""

    kind: str
    x: float
    y: float
    width: float
    height: float
    fill: str = ""
    stroke: str = ""
    line: float = 0.0


@dataclass(frozen=True, slots=True)
class Part:
    """What one element of the document's structure shows: text, or a shape with its words in `alt`."""

    role: str
    runs: tuple[Run, ...] = ()
    figure: Shape | None = None
    alt: str = ""


@dataclass(frozen=True, slots=True)
class Item:
    """A piece of the page that is never split; `path` are the structure elements around it."""

    path: Path
    width: float
    height: float
    parts: tuple[Part, ...]
    shapes: tuple[Shape, ...] = ()
    x: float = 0.0
    top: float = 0.0

    def at(self, x: float, top: float) -> Item:
        """The same item with its upper left corner at (`x`, `top`)."""
        dx, dy = x - self.x, top - self.top
        shapes = tuple(replace(shape, x=shape.x + dx, y=shape.y + dy) for shape in self.shapes)
        parts = tuple(_moved(part, dx, dy) for part in self.parts)
        return replace(self, x=x, top=top, parts=parts, shapes=shapes)


def _moved(part: Part, dx: float, dy: float) -> Part:
    figure = part.figure and replace(part.figure, x=part.figure.x + dx, y=part.figure.y + dy)
    runs = tuple(replace(run, x=run.x + dx, y=run.y + dy) for run in part.runs)
    return replace(part, runs=runs, figure=figure)


@dataclass(frozen=True, slots=True)
class Sheet:
    """The finished page."""

    width: float
    height: float
    size: float
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Spacing:
    """White space of one attempt: margins and gutter in pt, gaps as multiples of the type size.

    `runs_on` sets hazard, result and remedy of a warning, and the closing lines, as one paragraph each;
    `dense` does so with the trace and with the lines of a block.
    """

    side: float
    top: float
    foot: float
    gutter: float
    block: float
    box: float
    band: float
    title: float
    runs_on: bool = False
    dense: bool = False


CALM = Spacing(43.0, 38.0, 32.0, 20.0, 0.75, 0.55, 1.75, 23.0)
MIDDLING = Spacing(39.0, 31.0, 27.0, 18.0, 0.6, 0.42, 1.6, 20.0)
CLOSE = Spacing(36.0, 28.0, 24.0, 17.0, 0.5, 0.33, 1.5, 17.0, runs_on=True)
DENSE = Spacing(30.0, 22.0, 18.0, 14.0, 0.4, 0.3, 1.4, 16.0, runs_on=True, dense=True)


@dataclass(frozen=True, slots=True)
class Step:
    """One attempt: type size, line distance over size, lines a user's text may take, spare lines or not."""

    size: float
    leading: float
    user_lines: int
    spacing: Spacing = CALM
    spare: bool = True


STEPS: tuple[Step, ...] = (
    Step(11.5, 1.36, 3),
    Step(11.0, 1.34, 3),
    Step(10.5, 1.34, 3),
    Step(10.0, 1.32, 3),
    Step(9.75, 1.3, 3),
    Step(9.75, 1.26, 3, MIDDLING),
    Step(9.5, 1.25, 3, MIDDLING),
    Step(9.25, 1.24, 3, MIDDLING),
    Step(9.0, 1.23, 3, MIDDLING),
    Step(8.75, 1.22, 3, MIDDLING),
    Step(SMALLEST, 1.21, 3, MIDDLING),
    Step(9.0, 1.22, 3, CLOSE),
    Step(8.75, 1.24, 3, CLOSE),
    Step(SMALLEST, 1.24, 3, CLOSE),
    Step(SMALLEST, 1.2, 2, CLOSE),
    Step(SMALLEST, 1.17, 1, CLOSE),
    Step(SMALLEST, 1.18, 1, DENSE),
    Step(SMALLEST, 1.17, 1, DENSE, spare=False),
)


def lay_out(note: Note, paper: str, ruler: Ruler) -> Sheet:
    """The page for `note` on `paper` at the largest type that fits.

    Raises
    ------
    NoteTooLongError
        Nothing fits; the note holds more than its blocks ever should.
    """
    for step in STEPS:
        items = _Composer(note, PAPERS[paper], ruler, step).items()
        if items is not None:
            return Sheet(*PAPERS[paper], step.size, tuple(items))
    raise NoteTooLongError(
        f"The note for {note.part[:60]!r} does not fit on one page. Shorten the texts of the duty sheet and "
        "of the profile."
    )


@dataclass
class _Composer:
    note: Note
    paper: tuple[float, float]
    ruler: Ruler
    step: Step

    @property
    def _inner(self) -> float:
        return self.paper[0] - 2 * self.step.spacing.side

    def items(self) -> list[Item] | None:
        """All items in place, or None when they do not fit."""
        head, top = self._stacked(self._head(), self.paper[1] - self.step.spacing.top)
        feet = self._feet()
        foot_top = self.step.spacing.foot + sum(item.height for item in feet)
        foot, _ = self._stacked(feet, foot_top)
        body = self._body(top - 0.6 * self.step.size, foot_top + 0.7 * self.step.size)
        return None if body is None else [*head, *body, *foot]

    def _stacked(self, items: list[Item], top: float) -> tuple[list[Item], float]:
        placed = []
        for item in items:
            placed.append(item.at(self.step.spacing.side, top))
            top -= item.height
        return placed, top

    # -- head and foot ---------------------------------------------------------------------------------

    def _head(self) -> list[Item]:
        items = [
            self._paragraph(self.note.heading, BOLD, self.step.size + 1, "P", ink="soft"),
            self._title(),
            self._paragraph(
                self.note.lead, REGULAR, self.step.size + 0.5, "P", self.step.user_lines, after=0.45
            ),
        ]
        trace = next((block for block in self.note.blocks if block.key == "trace"), None)
        if trace is not None:
            items.append(self._run_on_trace(trace) if self.step.spacing.dense else self._grid(trace))
        if self.note.figures:
            items.append(self._figures(self.note.figures))
        return items

    def _title(self) -> Item:
        for size in (self.step.spacing.title, 0.8 * self.step.spacing.title):
            if len(self.ruler.lines(self.note.part, BOLD, size, self._inner)) == 1:
                return self._paragraph(self.note.part, BOLD, size, "H1", after=0.15)
        most = min(2, self.step.user_lines)
        size = 0.65 * self.step.spacing.title
        return self._paragraph(self.note.part, BOLD, size, "H1", most, after=0.2)

    def _paragraph(
        self,
        text: str,
        font: str,
        size: float,
        role: str,
        most: int = 99,
        after: float = 0.0,
        ink: str = "ink",
    ) -> Item:
        lines = self.ruler.at_most(text, font, size, self._inner, most)
        leading = 1.2 * size if size > 14 else self.step.leading * size
        runs = tuple(
            Run(0.0, -_baseline(size, leading) - leading * index, line, font, size, ink)
            for index, line in enumerate(lines)
        )
        height = leading * len(lines) + after * size
        return Item((), self._inner, height, (Part(role, runs),))

    def _grid(self, block: Block) -> Item:
        """Trace facts in rows of four, the label above its value; the column of the address is the widest."""
        size = max(SMALLEST, self.step.size - 1.5)
        gap = 10.0
        room = self._inner - gap * (len(GRID) - 1)
        widths = [share * room for share in GRID]
        lefts = [sum(widths[:column]) + gap * column for column in range(len(GRID))]
        parts: list[Part] = []
        top = -0.35 * size
        for start in range(0, len(block.lines), len(GRID)):
            cells = zip(block.lines[start : start + len(GRID)], lefts, widths, strict=False)
            row = [self._cell(line, left, top, width, size) for line, left, width in cells]
            parts += row
            top -= self.step.leading * size * max(len(part.runs) for part in row) + 0.3 * size
        rules = (-0.6, top)
        shapes = tuple(Shape("rect", 0.0, y, self._inner, 0.6, fill="rule") for y in rules)
        return Item((("Sect", block.key),), self._inner, -top + 0.5 * size, tuple(parts), shapes)

    def _cell(self, line: Line, left: float, top: float, width: float, size: float) -> Part:
        leading = self.step.leading * size
        texts = self.ruler.at_most(line.text, REGULAR, size, width, self.step.user_lines)
        y = top - _baseline(size, leading)
        values = [Run(left, y - leading * (row + 1), text, REGULAR, size) for row, text in enumerate(texts)]
        return Part("P", (Run(left, y, line.label, BOLD, size), *values))

    def _run_on_trace(self, block: Block) -> Item:
        """Trace facts as one paragraph."""
        size, leading = SMALLEST, self.step.leading * SMALLEST
        facts = tuple((line.label, shortened(line.text, 60)) for line in block.lines)
        texts = self._chained(facts, 0.3 * size, self._inner, runs_on=True)
        tall = leading - _baseline(size, leading) - texts[-1][-1].y + 0.5 * size
        path: Path = (("Sect", block.key),)
        return Item(path, self._inner, tall, tuple(Part("P", runs) for runs in texts))

    def _figures(self, figures: tuple[Figure, ...]) -> Item:
        """The figures to be seen first, in panels side by side."""
        size, big = max(SMALLEST, self.step.size - 0.5), self.step.size * 1.45
        gap, inset = 9.0, 9.0
        width = (self._inner - gap * (len(figures) - 1)) / len(figures)
        room = width - inset - 5.0
        parts: list[Part] = []
        heights = []
        for index, figure in enumerate(figures):
            x = index * (width + gap) + inset
            y = -0.45 * size
            runs: list[Run] = []
            for text, font, of_size in (
                (figure.label, REGULAR, size),
                (figure.value, BOLD, self._largest(figure.value, big, room)),
                ("" if self.step.spacing.dense else figure.remark, REGULAR, size),
            ):
                leading = 1.22 * of_size
                for line in self.ruler.lines(text, font, of_size, room) if text else ():
                    runs.append(Run(x, y - _baseline(of_size, leading), line, font, of_size))
                    y -= leading
            parts.append(Part("P", tuple(runs)))
            heights.append(-y + 0.45 * size)
        tall = max(heights)
        shapes = []
        for index in range(len(figures)):
            x = index * (width + gap)
            shapes.append(Shape("rect", x, -tall, width, tall, fill="panel"))
            shapes.append(Shape("rect", x, -tall, 3.0, tall, fill="ink"))
        return Item((("Sect", "figures"),), self._inner, tall, tuple(parts), tuple(shapes))

    def _largest(self, text: str, size: float, room: float) -> float:
        """Size at which `text` stands on one line, not below the step's own size."""
        return max(self.step.size, min(size, room / max(self.ruler.width(text, BOLD, 1.0), 1e-6)))

    def _feet(self) -> list[Item]:
        path: Path = (("Sect", "closing"),)
        lines = (" ".join(self.note.closing),) if self.step.spacing.runs_on else self.note.closing
        items = [replace(self._paragraph(line, REGULAR, SMALLEST, "P"), path=path) for line in lines]
        if items:
            rule = Shape("rect", 0.0, 3.0, self._inner, 0.6, fill="rule")
            items[0] = replace(items[0], shapes=(rule,))
        return items

    # -- body ------------------------------------------------------------------------------------------

    def _body(self, top: float, foot: float) -> list[Item] | None:
        columns = 1 if self.note.kind == "refusal" else 2
        gutter = self.step.spacing.gutter
        width = (self._inner - gutter * (columns - 1)) / columns
        lefts = [self.step.spacing.side + column * (width + gutter) for column in range(columns)]
        blocks = [self._chunks(block, width) for block in self.note.blocks]
        pieces = [chunk for block in blocks for chunk in block]
        whole = [piece for block in blocks for piece in _kept_together(block)]
        return _balanced(whole, lefts, top, top - foot) or _balanced(pieces, lefts, top, top - foot)

    def _chunks(self, block: Block, width: float) -> list[list[Item]]:
        """The block in groups that stay together: its title goes with its first line."""
        if block.key == "trace":
            return []
        items: list[Item] = []
        for number, line in enumerate(self._lines_of(block), start=1):
            items.append(self._line(block, line, number, width))
        items += [self._box(block, box, width) for box in block.boxes]
        if not items:
            return []
        items[-1] = replace(items[-1], height=items[-1].height + self.step.spacing.block * self.step.size)
        title = self._block_title(block, width)
        if block.boxes:
            return [[title, items[0]], *([item] for item in items[1:])]
        # No line of a list stands alone at the foot or the head of a column.
        middle, last = items[2:-2], items[2:][-2:]
        return [[title, *items[:2]], *([item] for item in middle), *([last] if last else [])]

    def _lines_of(self, block: Block) -> tuple[Line, ...]:
        """The lines to set; where room is very short, all bullets as one."""
        lines = tuple(line for line in block.lines if not line.spare or self.step.spare)
        mark = {"bullets": " \u2022 ", "crosses": " \u2715 "}.get(block.style, "")
        if not (self.step.spacing.dense and mark and lines and self.note.kind != "refusal"):
            return lines
        return (Line(mark.join(" ".join(filter(None, (line.label, line.text))) for line in lines)),)

    def _block_title(self, block: Block, width: float) -> Item:
        size = self.step.size + 1
        leading = 1.25 * size
        runs = tuple(
            Run(0.0, -_baseline(size, leading) - leading * index, text, BOLD, size)
            for index, text in enumerate(self.ruler.lines(block.title, BOLD, size, width))
        )
        height = leading * len(runs)
        rule = Shape("rect", 0.0, -height - 0.6, width, 0.6, fill="rule")
        part = Part("H2", runs)
        return Item((("Sect", block.key),), width, height + 0.35 * size, (part,), (rule,))

    def _line(self, block: Block, line: Line, number: int, width: float) -> Item:
        size, leading = self.step.size, self.step.leading * self.step.size
        mark = {"bullets": "•", "crosses": "✕", "steps": f"{number}."}.get(block.style, "")
        indent = {"bullets": 0.85, "crosses": 1.15, "steps": 1.45}.get(block.style, 0.0) * size
        start = _baseline(size, leading)
        most = self.step.user_lines + 1 if block.style == "facts" else 99
        label = f"{line.label}{self.note.labels.colon}" if block.style == "facts" else line.label
        body = self._labelled_runs(label if line.label else "", line.text, indent, width, start, most)
        height = leading * _lines_of(body) + 0.12 * size
        if not mark:
            return Item((("Sect", block.key),), width, height, (Part("P", body),))
        marked = Part("Lbl", (Run(0.0, -start, mark, REGULAR, size),))
        path: Path = (("Sect", block.key), ("L", block.key), ("LI", f"{block.key}-{number}"))
        return Item(path, width, height, (marked, Part("LBody", body)))

    def _labelled_runs(
        self,
        label: str,
        text: str,
        indent: float,
        width: float,
        start: float,
        most: int = 99,
        entry: float = 0.0,
    ) -> tuple[Run, ...]:
        """Bold `label` and then `text`, the first baseline `start` below the top; both may take lines.

        The first line starts `entry` further in.
        """
        size, leading = self.step.size, self.step.leading * self.step.size
        runs: list[Run] = []
        first = entry
        if label:
            labels = self.ruler.lines(label, BOLD, size, width - indent, entry)
            runs += [
                Run(indent + (0.0 if index else entry), -start - leading * index, part, BOLD, size)
                for index, part in enumerate(labels)
                if part
            ]
            start += leading * (len(labels) - 1)
            first = self.ruler.width(f"{labels[-1]} ", BOLD, size) + (entry if len(labels) == 1 else 0.0)
        lines = self.ruler.at_most(text, REGULAR, size, width - indent, most, first)
        runs += [
            Run(indent + (0.0 if index else first), -start - leading * index, part, REGULAR, size)
            for index, part in enumerate(lines)
            if part
        ]
        return tuple(runs)

    def _box(self, block: Block, box: Box, width: float) -> Item:
        """One warning in its frame: the signal word on a band, then hazard, result and what to do."""
        size, leading = self.step.size, self.step.leading * self.step.size
        inset, bar = 6.0, 6.0
        band = self.step.spacing.band * size
        room = width - bar - 2 * inset
        x = bar + inset
        word_size = size + 1.5
        baseline = -(band + 0.72 * word_size) / 2
        parts: list[Part] = []
        if box.has_triangle:
            side = 1.3 * size
            symbol = Shape("triangle", x, -(band + 0.88 * side) / 2, side, 0.88 * side)
            parts.append(Part("Figure", (), symbol, self.note.labels.symbol))
            x += side + 0.45 * size
        parts.append(Part("H3", (Run(x, baseline, box.word, BOLD, word_size),)))
        top = band + 0.3 * size
        for runs in self._chained(_box_lines(box, self.note.labels), top, room, self.step.spacing.runs_on):
            parts.append(Part("P", tuple(replace(run, x=run.x + bar + inset) for run in runs)))
        last = parts[-1].runs[-1].y
        tall = leading - _baseline(size, leading) - last + (0.25 if self.step.spacing.runs_on else 0.4) * size
        shapes = (
            Shape("rect", 0.0, -band, width, band, fill="panel"),
            Shape("rect", 0.0, -tall, bar, tall, fill=box.signal),
            Shape("rect", 0.0, -tall, width, tall, stroke="ink", line=1.1),
        )
        path: Path = (("Sect", block.key), ("Sect", box.key))
        return Item(path, width, tall + self.step.spacing.box * size, tuple(parts), shapes)

    def _chained(
        self, pairs: tuple[tuple[str, str], ...], top: float, room: float, runs_on: bool
    ) -> list[tuple[Run, ...]]:
        """Texts with their labels, each on its own lines or all as one paragraph."""
        size, leading = self.step.size, self.step.leading * self.step.size
        texts = []
        start, entry = top + _baseline(size, leading), 0.0
        for label, text in pairs:
            colon = self.note.labels.colon
            runs = self._labelled_runs(f"{label}{colon}", text, 0.0, room, start, entry=entry)
            texts.append(runs)
            last = runs[-1]
            start, entry = leading - last.y, 0.0
            if runs_on:
                start = -last.y
                entry = last.x + self.ruler.width(f"{last.text}  ", last.font, size)
        return texts


def _box_lines(box: Box, labels: Labels) -> tuple[tuple[str, str], ...]:
    return (labels.hazard, box.hazard), (labels.result, box.result), (labels.do_this, box.do_this)


def _baseline(size: float, leading: float) -> float:
    """Distance from the top of a line to its baseline: the type's own height centred in the line."""
    ascent, descent = 0.928 * size, 0.236 * size
    return ascent + (leading - ascent - descent) / 2


def _lines_of(runs: tuple[Run, ...]) -> int:
    return len({round(run.y, 3) for run in runs})


def _kept_together(block: list[list[Item]]) -> list[list[Item]]:
    """A block of plain lines as one piece; a block of warnings in its pieces, since it may fill a column."""
    if any(part.role == "H3" for chunk in block for item in chunk for part in item.parts):
        return block
    return [[item for chunk in block for item in chunk]] if block else []


def _balanced(chunks: list[list[Item]], lefts: list[float], top: float, room: float) -> list[Item] | None:
    """All items in columns of about one height, no taller than `room`; None when they do not fit."""
    tall = max(sum(item.height for chunk in chunks for item in chunk) / len(lefts), 1.0)
    while True:
        used = min(tall, room)
        placed = _flowed(chunks, lefts, top, used)
        if placed is not None or used >= room:
            return placed
        tall += 5.0


def _flowed(chunks: list[list[Item]], lefts: list[float], top: float, room: float) -> list[Item] | None:
    """All items down one column after the other, or None when the last column runs over."""
    placed: list[Item] = []
    column, used = 0, 0.0
    for chunk in chunks:
        need = sum(item.height for item in chunk)
        if used and used + need > room + 0.01:
            column, used = column + 1, 0.0
        if column >= len(lefts) or used + need > room + 0.01:
            return None
        for item in chunk:
            placed.append(item.at(lefts[column], top - used))
            used += item.height
    return placed


def every_run(sheet: Sheet) -> list[Run]:
    """All runs of text in reading order."""
    return [run for item in sheet.items for part in item.parts for run in part.runs]
