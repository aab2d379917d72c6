"""HTML, Markdown and text: the same content, and nothing a user wrote can act as markup."""

from __future__ import annotations

import re
from dataclasses import replace
from html import escape, unescape
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from note_cases import SHEETS, case_for

from recommender.report.note.cleaning import clean, shortened
from recommender.report.note.compose import compose
from recommender.report.note.content import Note
from recommender.report.note.glyphs import SUBSTITUTE, joined, substituted, visual
from recommender.report.note.html import as_html, type_size
from recommender.report.note.maker import maker_checklist
from recommender.report.note.markdown import as_markdown, escaped
from recommender.report.note.plain import WIDTH, as_text
from recommender.report.note.rendering import FORMATS, file_name, rendered, write_whole

VOID = {"meta", "br", "path"}


class Outline(HTMLParser):
    """Reads a page as a browser does: tags must nest, and text is collected."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style",):
            self.text.append(data)


def outline(page: str) -> Outline:
    reader = Outline()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader


def every_text(note: Note) -> list[str]:
    texts = [note.heading, note.part, note.lead, *note.closing]
    for figure in note.figures:
        texts += [figure.label, figure.value]
    for block in note.blocks:
        texts += [block.title, *(line.text for line in block.lines)]
        for box in block.boxes:
            texts += [box.word, box.hazard, box.result, box.do_this]
    return texts


def squeezed(text: str) -> str:
    return "".join(text.split()).lower()


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize("language", ["en", "fr"])
def test_every_format_says_everything(name: str, language: str) -> None:
    for note in (compose(case_for(name, language)), maker_checklist(case_for(name, language))):
        html = squeezed("".join(outline(as_html(note)).text))
        markdown = squeezed(re.sub(r"\\(.)", r"\1", as_markdown(note)))
        text = squeezed(as_text(note))
        for wanted in every_text(note):
            assert squeezed(wanted) in html
            assert squeezed(wanted) in markdown
            assert squeezed(wanted) in text


def test_the_html_names_its_language_and_needs_nothing_from_outside() -> None:
    page = as_html(compose(case_for("coat_hook", "es")), "letter")
    reader = outline(page)
    assert ("html", {"lang": "es"}) in reader.tags
    assert "size: letter" in page
    assert not re.search(r"(src|href)=|url\(|@import|<script|<link", page)
    symbols = [attributes for tag, attributes in reader.tags if tag == "svg"]
    assert symbols and all(
        s["role"] == "img" and s["aria-label"] == "Símbolo de alerta de seguridad" for s in symbols
    )
    assert [tag for tag, _ in reader.tags if tag in ("h1", "h2")].count("h1") == 1


def test_signal_words_are_words_and_not_only_colours() -> None:
    page = as_html(compose(case_for("trellis_bar")))
    assert page.count("</svg>CAUTION</h3>") == 4


@settings(max_examples=60, deadline=None)
@given(
    st.text(max_size=60),
    st.sampled_from(["<script>x</script>", '" onload="x', "</style><b>", "&amp;<!--", "]]>"]),
)
def test_html_of_any_name_is_escaped(text: str, attack: str) -> None:
    name = clean(f"a{text}{attack}{text}", 200)
    plain = compose(case_for("coat_hook", part="a", purpose="a"))
    page = as_html(replace(plain, part=name, lead=name, document_title=name))
    reader = outline(page)
    assert [tag for tag, _ in reader.tags] == [tag for tag, _ in outline(as_html(plain)).tags]
    assert not any(key.startswith("on") for _, attributes in reader.tags for key in attributes)
    assert page.count(escape(name)) == 3 and name in unescape(page)


@pytest.mark.parametrize(("text", "safe"), [
    ("# heading", "\\# heading"),
    ("1. item", "1\\. item"),
    ("- item", "\\- item"),
    ("[a](b)", "\\[a\\](b)"),
    ("<b>*x*</b> `c`", "\\<b\\>\\*x\\*\\</b\\> \\`c\\`"),
    ("a|b ~~c~~ $d$", "a\\|b \\~\\~c\\~\\~ \\$d\\$"),
    ("3 kg (6.6 lb).", "3 kg (6.6 lb)."),
])  # fmt: skip
def test_markdown_of_users_is_escaped(text: str, safe: str) -> None:
    assert escaped(text) == safe


def test_the_text_fits_eighty_columns() -> None:
    for name in SHEETS:
        for note in (compose(case_for(name, "de")), maker_checklist(case_for(name, "de"))):
            assert max(map(len, as_text(note).splitlines())) <= WIDTH


def test_the_printed_type_shrinks_with_the_text() -> None:
    sizes = [type_size(compose(case_for(name))) for name in ("label_spacer", "coat_hook")]
    assert 8.5 <= sizes[1] <= sizes[0] <= 10.5


# -- free text ---------------------------------------------------------------------------------------------


@given(st.text(max_size=400))
def test_cleaned_text_is_one_printable_line(text: str) -> None:
    line = clean(text, 80)
    assert len(line) <= 80 and "\n" not in line and line == " ".join(line.split())
    assert not re.search("[\u0000-\u001f\u007f\u202a-\u202e\u2066-\u2069]", line)


def test_shortening_never_leaves_half_a_letter() -> None:
    assert shortened("abcdef", 4) == "abc…"
    assert shortened("ab" + "e\u0301" * 3, 4) == "ab…"  # the accent that would lose its letter goes with it
    assert shortened("abc", 3) == "abc"


# -- glyphs ------------------------------------------------------------------------------------------------


def test_a_letter_that_the_font_lacks_is_shown_as_a_square() -> None:
    known = set(map(ord, "abcé "))
    assert substituted("a漢b", known) == f"a{SUBSTITUTE}b"
    assert substituted("ce\u0301", known) == "cé"  # composed before the font is asked
    assert substituted("a\u200db", known) == "ab"


def test_right_to_left_words_are_turned_round() -> None:
    # Logical order in, order of drawing out (UAX 9): a Hebrew line is drawn from its end.
    assert visual("אבג") == "גבא"
    assert visual("אב גד") == "דג בא"
    assert visual("hook אבג 3 kg") == "hook גבא 3 kg"
    assert visual("אב (גד) 3") == "3 (דג) בא"
    assert visual("plain") == "plain"


def test_arabic_letters_are_joined() -> None:
    # beh + beh + beh: initial, medial, final (Unicode chart FE70: FE91, FE92, FE90).
    assert joined("\u0628\u0628\u0628") == "\ufe91\ufe92\ufe90"
    # dal does not join to what follows: beh + dal + beh is initial, final, isolated.
    assert joined("\u0628\u062f\u0628") == "\ufe91\ufeaa\ufe8f"


# -- files -------------------------------------------------------------------------------------------------


def test_a_file_is_written_whole_or_not_at_all(tmp_path: object) -> None:
    from pathlib import Path

    from recommender.errors import InputError

    folder = Path(str(tmp_path))
    write_whole(b"abc", folder / "a.pdf")
    assert (folder / "a.pdf").read_bytes() == b"abc" and len(list(folder.iterdir())) == 1
    with pytest.raises(InputError, match="cannot be written"):
        write_whole(b"abc", folder / "missing" / "a.pdf")
    (folder / "taken").mkdir()
    with pytest.raises(InputError, match="cannot be written"):
        write_whole(b"abc", folder / "taken")
    assert sorted(path.name for path in folder.iterdir()) == ["a.pdf", "taken"]


def test_every_format_can_be_rendered() -> None:
    note = compose(case_for("coat_hook"))
    starts = {"pdf": b"%PDF", "html": b"<!DOCTYPE html>", "md": b"# Coat hook", "txt": b"Coat hook"}
    for form in FORMATS:
        assert rendered(note, form, "a4").startswith(starts[form])
    assert file_name("shelf", "note", "pdf", "de") == "shelf-note.de.pdf"
