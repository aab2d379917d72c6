"""The note as Markdown (CommonMark with no extensions); what users wrote is escaped."""

from __future__ import annotations

import re

from recommender.report.note.content import Block, Box, Labels, Note

_INLINE = re.compile(r"([\\`*_\[\]<>&~|$])")
_AT_START = re.compile(r"^(\d{0,9})([#+\-=.)])")


def as_markdown(note: Note) -> str:
    """`note` as Markdown."""
    parts = [f"# {escaped(note.part)}", f"**{escaped(note.heading)}**", escaped(note.lead)]
    if note.figures:
        parts.append(
            "\n".join(
                f"- **{escaped(figure.label)}{note.labels.colon} {escaped(figure.value)}**"
                + (f" ({escaped(figure.remark)})" if figure.remark else "")
                for figure in note.figures
            )
        )
    for block in note.blocks:
        parts += [f"## {escaped(block.title)}", *_block(block, note.labels)]
    parts += ["---", *(f"*{escaped(line)}*" for line in note.closing)]
    return "\n\n".join(parts) + "\n"


def _block(block: Block, labels: Labels) -> list[str]:
    lines = []
    for number, line in enumerate(block.lines, start=1):
        mark = f"{number}." if block.style == "steps" else "-"
        label = (
            f"**{escaped(line.label)}{labels.colon if block.style == 'facts' else ''}** "
            if line.label
            else ""
        )
        lines.append(f"{mark} {label}{escaped(line.text)}")
    return (["\n".join(lines)] if lines else []) + [_box(box, labels) for box in block.boxes]


def _box(box: Box, labels: Labels) -> str:
    sign = "\u26a0 " if box.has_triangle else ""
    parts = ((labels.hazard, box.hazard), (labels.result, box.result), (labels.do_this, box.do_this))
    return "\n>\n".join(
        [
            f"> **{sign}{escaped(box.word)}**",
            *(f"> **{label}{labels.colon}** {escaped(text)}" for label, text in parts),
        ]
    )


def escaped(text: str) -> str:
    """`text` so that no character of it has a meaning in Markdown or HTML."""
    return _AT_START.sub(r"\1\\\2", _INLINE.sub(r"\\\1", text))
