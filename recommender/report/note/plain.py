"""The note as plain text, 78 columns wide."""

from __future__ import annotations

import textwrap

from recommender.report.note.content import Block, Box, Labels, Line, Note

WIDTH = 78

_MARKS = {"bullets": "- ", "crosses": "x ", "facts": "", "boxes": ""}


def as_text(note: Note) -> str:
    """`note` as text; the alert triangle is written as ``/!\\``."""
    parts = [_wrapped(note.part), _wrapped(note.heading.upper()), "=" * WIDTH, _wrapped(note.lead)]
    if note.figures:
        parts.append("")
        parts += [
            _wrapped(
                f"{figure.label}: {figure.value}" + (f" ({figure.remark})" if figure.remark else ""), "* "
            )
            for figure in note.figures
        ]
    for block in note.blocks:
        parts += ["", *_block(block, note.labels)]
    parts += ["", "-" * WIDTH, *(_wrapped(line) for line in note.closing)]
    return "\n".join(parts) + "\n"


def _block(block: Block, labels: Labels) -> list[str]:
    lines = [block.title.upper()]
    for number, line in enumerate(block.lines, start=1):
        mark = f"{number}. " if block.style == "steps" else _MARKS.get(block.style, "")
        lines.append(_wrapped(labelled(line, labels.colon if block.style == "facts" else ""), mark))
    for box in block.boxes:
        lines += [*_box(box, labels), ""]
    return lines[:-1] if block.boxes else lines


def labelled(line: Line, colon: str) -> str:
    """A line with its label before it."""
    return f"{line.label}{colon} {line.text}" if line.label else line.text


def _box(box: Box, labels: Labels) -> list[str]:
    sign = "/!\\ " if box.has_triangle else ""
    parts = ((labels.hazard, box.hazard), (labels.result, box.result), (labels.do_this, box.do_this))
    return [
        f"{sign}{box.word}",
        *(_wrapped(f"{label}{labels.colon} {text}", "    ") for label, text in parts),
    ]


def _wrapped(text: str, mark: str = "") -> str:
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=mark,
        subsequent_indent=" " * len(mark),
        break_on_hyphens=False,
    )
