"""The note as one HTML file: no outside resources, prints to one page, reads well aloud."""

from __future__ import annotations

from dataclasses import replace
from html import escape

from recommender.report.note.cleaning import shortened
from recommender.report.note.content import Block, Box, Figure, Labels, Line, Note

PAPERS: dict[str, str] = {"a4": "A4", "letter": "letter"}

# Room needed (characters, with a toll for each line) against the type size that lets it print on one page:
# measured with a browser on pages of all kinds, with half a point to spare.
_TYPE_SIZES: tuple[tuple[float, float], ...] = ((3500, 10.2), (4000, 9.7), (4650, 9.2), (5000, 8.7))
_DENSE_SIZES: tuple[tuple[float, float], ...] = ((5700, 9.5), (6500, 9.0))
_SMALLEST = 8.5
_DENSE_FROM = {"a4": 5250.0, "letter": 5000.0}  # beyond this, lists and warnings are set as paragraphs
_LINE_TOLL = 22  # characters of room that starting a new line takes, estimate from the printed pages

_STYLE = """
:root { --ink: #1a1a1a; --soft: #555; --rule: #b8b8b8; --panel: #f1f1ee; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 52em; padding: 2em 1.5em; color: var(--ink); background: #fff;
  font: 1rem/1.4 "DejaVu Sans Condensed", "Segoe UI", "Helvetica Neue", Arial, sans-serif; }
header .heading { margin: 0; font-weight: 700; color: var(--soft); }
h1 { margin: .1em 0 .2em; font-size: 1.9em; line-height: 1.15; overflow-wrap: anywhere; }
h2 { margin: 0 0 .25em; font-size: 1.05em; border-bottom: 1px solid var(--rule); padding-bottom: .1em; }
h3 { margin: 0; font-size: 1em; display: flex; gap: .45em; align-items: center; letter-spacing: .03em; }
h3 svg { width: 1.25em; height: 1.1em; flex: none; }
p, ul, ol, dl { margin: 0; }
.lead { overflow-wrap: anywhere; }
.figures { display: flex; gap: .8em; margin: .8em 0; }
.figures > div { flex: 1; background: var(--panel); border-left: .3em solid var(--ink); padding: .45em .7em; }
.figures .value { font-size: 1.3em; font-weight: 700; line-height: 1.2; }
.figures .label, .figures .remark { font-size: .9em; }
main { columns: 2; column-gap: 1.8em; }
section { break-inside: avoid-column; margin-bottom: .8em; }
section.trace { column-span: all; border-bottom: 1px solid var(--rule); padding-bottom: .5em; }
section.trace dl { display: flex; flex-wrap: wrap; gap: .1em 1.4em; }
section.trace h2 { display: none; }
section.warnings { break-inside: auto; }
dt { float: left; clear: left; margin-right: .35em; font-weight: 700; }
section.trace dt { float: none; display: inline; }
section.trace dd { display: inline; }
dd { margin: 0; overflow-wrap: anywhere; }
ul, ol { padding-left: 1.15em; }
li { overflow-wrap: anywhere; }
ul.crosses { list-style: none; padding-left: 0; }
ul.crosses li { padding-left: 1.15em; text-indent: -1.15em; }
ul.crosses li::before { content: "\\2715"; display: inline-block; width: 1.15em; text-indent: 0; }
.box { break-inside: avoid; border: 1.5px solid var(--ink); border-left-width: .5em; padding: .35em .6em;
  margin-bottom: .5em; }
.box.DANGER { border-color: #b00020; } .box.DANGER h3 { background: #b00020; color: #fff; padding: 0 .3em; }
.box.WARNING { border-color: #c75300; } .box.CAUTION { border-color: #8f7500; }
.box.NOTICE { border-color: #1c4f8a; }
footer { border-top: 1px solid var(--rule); margin-top: .6em; padding-top: .4em; font-size: .9em; }
@media (max-width: 40em) { main { columns: 1; } .figures { flex-direction: column; } }
@page { size: PAPER; margin: MARGIN; }
@media print { .lead { display: -webkit-box; -webkit-line-clamp: 3; -webkit-box-orient: vertical; overflow: hidden; }
  body { max-width: none; padding: 0; font-size: SIZEpt; line-height: 1.28; }
  main { columns: 2; }
  .figures { flex-direction: row; margin: .5em 0; } section { margin-bottom: .55em; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  .dense { line-height: 1.18; } .dense section { margin-bottom: .35em; } .dense footer p { display: inline; }
  .dense .box { padding: .15em .4em; margin-bottom: .3em; } .dense .box p { display: inline; }
  .dense main li { display: inline; } .dense main ul, .dense main ol { padding: 0; }
  .dense ul.bullets li::before { content: "\\2022  "; } .dense ol { counter-reset: step; }
  .dense ol li::before { counter-increment: step; content: counter(step) ". "; }
  .dense ul.crosses li { padding: 0; text-indent: 0; } .dense ul.crosses li::before { width: auto; content: "\\2715  "; }
  .dense .remark { display: none; } .dense h1 { font-size: 1.3em; } }
"""

_TRIANGLE = (
    '<svg viewBox="0 0 20 18" role="img" aria-label="{label}"><title>{label}</title>'
    '<path d="M10 1 19.2 17H.8Z" fill="#ffd23c" stroke="#000" stroke-width="1.5" stroke-linejoin="round"/>'
    '<path d="M10 6v5.6M10 13.4v1.7" stroke="#000" stroke-width="1.9" fill="none"/></svg>'
)


def as_html(note: Note, paper: str = "a4") -> str:
    """`note` as a complete HTML document; everything that users wrote is escaped."""
    dense, size = is_dense(note, paper), type_size(note, paper)
    if dense:
        note = _with_short_texts(note)
    style = _STYLE.replace("PAPER", PAPERS[paper]).replace("MARGIN", "7mm 9mm" if dense else "11mm 13mm")
    style = style.replace("SIZE", f"{size:g}")
    figures = "".join(_figure(figure) for figure in note.figures)
    body = "\n".join(_block(block, note.labels) for block in note.blocks)
    closing = "\n".join(f"<p>{escape(line)}</p>" for line in note.closing)
    return f"""<!DOCTYPE html>
<html lang="{note.language}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(note.document_title)}</title>
<style>{style}</style>
</head>
<body{' class="dense"' if dense else ""}>
<header>
<p class="heading">{escape(note.heading)}</p>
<h1 dir="auto">{escape(note.part)}</h1>
<p class="lead" dir="auto">{escape(note.lead)}</p>
</header>
{f'<div class="figures">{figures}</div>' if figures else ""}
<main>
{body}
</main>
<footer>
{closing}
</footer>
</body>
</html>
"""


def type_size(note: Note, paper: str = "a4") -> float:
    """Size of the printed type in pt, smaller the more the page has to say."""
    needed = _room_needed(note)
    sizes = _DENSE_SIZES if is_dense(note, paper) else _TYPE_SIZES
    return next((size for room, size in sizes if needed <= room), _SMALLEST)


def is_dense(note: Note, paper: str) -> bool:
    """Whether the page has so much to say that its lists are printed as paragraphs."""
    return _room_needed(note) > _DENSE_FROM[paper]


def _room_needed(note: Note) -> float:
    texts = [note.part, note.lead, *note.closing]
    for block in note.blocks:
        texts += [block.title, *(line.label + line.text for line in block.lines)]
        for box in block.boxes:
            texts += [box.word, "", box.hazard, box.result, box.do_this]
    return sum(len(text) + _LINE_TOLL for text in texts)


def _with_short_texts(note: Note) -> Note:
    """The same note with what users wrote cut short, for a page that must be set densely."""
    blocks = tuple(
        replace(block, lines=tuple(replace(line, text=shortened(line.text, 60)) for line in block.lines))
        if block.key == "trace"
        else block
        for block in note.blocks
    )
    return replace(note, part=shortened(note.part, 90), lead=shortened(note.lead, 180), blocks=blocks)


def _figure(figure: Figure) -> str:
    remark = f'<p class="remark">{escape(figure.remark)}</p>' if figure.remark else ""
    return (
        f'<div><p class="label">{escape(figure.label)}</p>'
        f'<p class="value">{escape(figure.value)}</p>{remark}</div>'
    )


def _block(block: Block, labels: Labels) -> str:
    body = _lines(block, labels.colon) + "".join(_box(box, labels) for box in block.boxes)
    return f'<section class="{block.key}"><h2>{escape(block.title)}</h2>\n{body}</section>'


def _lines(block: Block, colon: str) -> str:
    if not block.lines:
        return ""
    if block.style == "facts":
        return f"<dl>{''.join(_fact(line, colon) for line in block.lines)}</dl>"
    items = "\n".join(f"<li>{_labelled(line)}</li>" for line in block.lines)
    if block.style == "steps":
        return f"<ol>{items}</ol>"
    return f'<ul class="{block.style}">{items}</ul>'


def _fact(line: Line, colon: str) -> str:
    return f'<div><dt>{escape(line.label)}{colon}</dt> <dd dir="auto">{escape(line.text)}</dd></div>'


def _labelled(line: Line) -> str:
    label = f"<strong>{escape(line.label)}</strong> " if line.label else ""
    return f'{label}<span dir="auto">{escape(line.text)}</span>'


def _box(box: Box, labels: Labels) -> str:
    symbol = _TRIANGLE.format(label=escape(labels.symbol, quote=True)) if box.has_triangle else ""
    parts = ((labels.hazard, box.hazard), (labels.result, box.result), (labels.do_this, box.do_this))
    lines = "\n".join(
        f"<p><strong>{escape(label)}{labels.colon}</strong> {escape(text)}</p>" for label, text in parts
    )
    return f'<div class="box {box.signal}"><h3>{symbol}{escape(box.word)}</h3>{lines}</div>\n'
