"""The PDF: one page, tagged, fonts inside, nothing cut, nothing on top of anything else."""

from __future__ import annotations

import io
from itertools import combinations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from note_cases import MAKER, SHEETS, TRACE, case_for, with_answer
from pypdf import PdfReader

from kb.wording import TEXTS, flat_texts
from recommender.answer import Notice
from recommender.report.note.case import Case, Maker, MeasuredSize, Trace
from recommender.report.note.compose import compose
from recommender.report.note.content import Note
from recommender.report.note.layout import (
    PAPERS,
    SMALLEST,
    Item,
    NoteTooLongError,
    Sheet,
    every_run,
    lay_out,
)
from recommender.report.note.maker import maker_checklist
from recommender.report.note.pdf import FONTS, _drawn, _font, as_pdf, painted, ruler
from recommender.report.note.typesetting import REGULAR

LANGUAGES = ("en", "de", "fr", "es")
RULER = ruler()


def all_words(language: str) -> list[str]:
    files = [TEXTS / f"{language}.yaml", TEXTS / "rows" / f"{language}.yaml"]
    return [text for path in files if path.exists() for text in flat_texts(path).values()]


def faults_of(sheet: Sheet) -> list[str]:
    """What is cut, too small or on top of something else, by the layout's own boxes and text widths."""
    faults = []
    for item in sheet.items:
        if not (item.x > 0 and item.x + item.width < sheet.width and item.top < sheet.height):
            faults.append(f"item beyond the page: {item.path}")
        if item.top - item.height < 0:
            faults.append(f"item below the page: {item.path}")
        for part in item.parts:
            for run in part.runs:
                right = run.x + RULER.width(run.text, run.font, run.size)
                if run.x < item.x - 0.01 or right > item.x + item.width + 0.01:
                    faults.append(f"text wider than its box: {run.text}")
                if not item.top - item.height - 0.01 <= run.y - 0.24 * run.size <= run.y <= item.top:
                    faults.append(f"text above or below its box: {run.text}")
                if run.size < SMALLEST:
                    faults.append(f"type of {run.size} pt: {run.text}")
    faults += [f"{a.path} over {b.path}" for a, b in combinations(sheet.items, 2) if overlap(a, b)]
    return faults


def overlap(first: Item, second: Item) -> bool:
    return (
        min(first.x + first.width, second.x + second.width) - max(first.x, second.x) > 0.01
        and min(first.top, second.top) - max(first.top - first.height, second.top - second.height) > 0.01
    )


def pages() -> list[tuple[str, str, str, bool]]:
    return [
        (name, language, paper, maker)
        for name in SHEETS
        for language in LANGUAGES
        for paper in PAPERS
        for maker in (False, True)
    ]


@pytest.mark.parametrize(("name", "language", "paper", "maker"), pages())
def test_nothing_is_cut_or_overlaps(name: str, language: str, paper: str, maker: bool) -> None:
    case = case_for(name, language)
    note = maker_checklist(case) if maker else compose(case)
    sheet = lay_out(note, paper, RULER)
    assert faults_of(sheet) == []
    drawn = " ".join(run.text for run in every_run(sheet))
    for block in note.blocks:
        for box in block.boxes:  # a warning is never shortened
            for text in (box.word, box.hazard, box.result, box.do_this):
                assert " ".join(text.split()) in " ".join(drawn.split())


def longest_case(language: str) -> Case:
    """A part with the five longest warnings, six near misses, every spare line and long texts of the user."""
    case = case_for(
        "coat_hook",
        language,
        Maker("Maker of very many printed parts " * 6, "Long street name 123, some town, " * 8, "x" * 120),
        Trace("B" * 60, "2026-11-20 in the afternoon", "", "white " * 30, (MeasuredSize("insert", 114.25, 114.57),) * 3),
        part="A hook with a name that goes on " * 6,
        purpose="It holds many things on many walls. " * 40,
        loads=[
            {"kind": "sustained", "force": f"0.{n} kg", "duration": "2 years", "temperature": "23 C"} for n in (11, 12, 13, 14)
        ],
        place={"peak_temperature": "40 C", "outdoors": True, "water": "immersed"},
        people={"if_it_breaks": "minor_injury", "below": "people"},
    )  # fmt: skip
    words = case.reader.wording
    rows = [row for row in case.rows.values() if row.get("audience") == "user"]

    def length(row: object) -> int:
        key = row["key"]  # type: ignore[index]
        return sum(len(words.row(key, name, row[name])) for name in ("hazard", "result", "do_this"))  # type: ignore[index]

    notices = tuple(
        Notice(row["key"], "WARNING", row["hazard"], row["result"], row["do_this"], row["ask"])
        for row in sorted(rows, key=length, reverse=True)[:5]
    )
    gates = sorted(
        (key for key, row in case.rows.items() if row.get("not_for")),
        key=lambda key: -len(case.gate_text(key, "not_for")),
    )
    from dataclasses import replace

    return replace(
        with_answer(case, cautions=notices, model_version="2026-11-24"), near_misses=tuple(gates[:6])
    )


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_fullest_page_still_holds_every_warning(language: str, paper: str) -> None:
    note = compose(longest_case(language))
    assert len(note.block("warnings").boxes) == 5 and len(note.block("not_for").lines) == 6
    sheet = lay_out(note, paper, RULER)
    assert faults_of(sheet) == []
    drawn = " ".join(" ".join(run.text for run in every_run(sheet)).split())
    assert all(" ".join(box.do_this.split()) in drawn for box in note.block("warnings").boxes)
    assert len(PdfReader(io.BytesIO(painted(sheet, note))).pages) == 1


def test_a_page_with_little_to_say_has_larger_type() -> None:
    short, long = compose(case_for("label_spacer")), compose(longest_case("de"))
    assert lay_out(short, "a4", RULER).size > lay_out(long, "a4", RULER).size >= SMALLEST


def test_what_can_never_fit_is_an_error_with_a_remedy() -> None:
    from dataclasses import replace

    note = compose(case_for("coat_hook"))
    block = note.block("check")
    endless = replace(note, blocks=(*note.blocks, *(block for _ in range(40))))
    with pytest.raises(NoteTooLongError, match="Shorten"):
        lay_out(endless, "a4", RULER)


# -- the file ----------------------------------------------------------------------------------------------


def read(note: Note, paper: str = "a4") -> PdfReader:
    return PdfReader(io.BytesIO(as_pdf(note, paper)))


@pytest.mark.parametrize("language", LANGUAGES)
def test_one_tagged_page_with_title_and_language(language: str) -> None:
    note = compose(case_for("coat_hook", language))
    reader = read(note)
    root = reader.trailer["/Root"]
    assert len(reader.pages) == 1
    assert reader.metadata is not None and reader.metadata.title == note.document_title
    assert root["/Lang"] == language and root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.pages[0]["/StructParents"] == 0 and reader.pages[0]["/Tabs"] == "/S"


def test_every_font_is_in_the_file() -> None:
    fonts = read(compose(case_for("coat_hook"))).pages[0]["/Resources"]["/Font"]
    used = [font.get_object() for font in fonts.values()]
    embedded = [font["/FontDescriptor"].get("/FontFile2") for font in used if "/FontDescriptor" in font]
    assert len(embedded) >= 2 and all(embedded)
    # The library lists Helvetica on every page; no text is set in it.
    names = {str(font["/BaseFont"]) for font in used if "/FontDescriptor" not in font}
    assert names <= {"/Helvetica"}


def marked_texts(reader: PdfReader) -> dict[int, str]:
    """Text of each piece of marked content, by its number."""
    texts: dict[int, str] = {}
    numbers: list[int] = []

    def before(operator: bytes, operands: list[object], *_: object) -> None:
        if operator == b"BDC":
            numbers.append(int(operands[1]["/MCID"]))  # type: ignore[index]
        elif operator == b"BMC":
            numbers.append(-1)
        elif operator == b"EMC":
            numbers.pop()

    def text(piece: str, *_: object) -> None:
        if numbers and numbers[-1] >= 0:
            texts[numbers[-1]] = texts.get(numbers[-1], "") + piece

    reader.pages[0].extract_text(visitor_operand_before=before, visitor_text=text)
    return texts


def structure(reader: PdfReader) -> list[tuple[str, list[int], str]]:
    """Leaves of the structure tree in reading order: role, numbers of marked content, alternative text."""
    leaves: list[tuple[str, list[int], str]] = []

    def walk(element: object) -> None:
        node = element.get_object()  # type: ignore[attr-defined]
        kids = node["/K"]
        numbers = [int(kid) for kid in kids if isinstance(kid, int)]
        if numbers:
            leaves.append((str(node["/S"]), numbers, str(node.get("/Alt", ""))))
        for kid in kids:
            if not isinstance(kid, int):
                walk(kid)

    walk(reader.trailer["/Root"]["/StructTreeRoot"]["/K"])
    return leaves


def test_the_structure_reads_in_the_order_of_the_content() -> None:
    note = compose(case_for("coat_hook"))
    reader = read(note)
    leaves = structure(reader)
    order = [number for _, numbers, _ in leaves for number in numbers]
    assert order == list(range(len(order)))
    roles = [role for role, _, _ in leaves]
    assert roles[:2] == ["/P", "/H1"]
    assert (
        roles.count("/H2") == len(note.blocks) - 1
    )  # the trace stands in the head, without a title of its own
    assert roles.count("/H3") == len(note.block("warnings").boxes)
    assert [alt for role, _, alt in leaves if role == "/Figure"] == [note.labels.symbol] * roles.count(
        "/Figure"
    )
    parents = reader.trailer["/Root"]["/StructTreeRoot"]["/ParentTree"]["/Nums"][1].get_object()
    assert len(parents) == len(order)
    for number, parent in enumerate(parents):  # the way back from marked content leads to its own element
        assert number in [kid for kid in parent.get_object()["/K"] if isinstance(kid, int)]


def test_the_text_can_be_read_out_in_order() -> None:
    note = compose(case_for("coat_hook"))
    texts = marked_texts(read(note))
    words = " ".join(" ".join(texts[number] for number in sorted(texts)).split())
    expected = [note.heading, note.part, note.lead]
    expected += [line.text for block in note.blocks for line in block.lines]
    place = 0
    for text in (expected[0], expected[1], *[line.text for line in note.block("fit").lines]):
        place = words.index(text, place)
    for text in expected:
        assert text in words


def test_the_same_note_gives_the_same_bytes() -> None:
    note = compose(case_for("coat_hook"))
    assert as_pdf(note, "a4") == as_pdf(note, "a4")


# -- odd names ---------------------------------------------------------------------------------------------

ODD = [
    "וו לתיק קטן (גדול) 3 ק״ג",
    "خطاف للمعاطف",
    "フック ✂️ 👩‍👧 hook",
    "x" * 200,
    "a <b>bold</b> & \"quoted\" name",
    "line one\nline two\r\n\tthree",
    "a\u202eb\u0000c\ud7ff",
    "e\u0301" * 90,
]  # fmt: skip


def test_letters_that_the_font_lacks_become_squares_and_hebrew_is_turned() -> None:
    # The line is Hebrew first, so it is drawn from its end.
    assert _drawn("אבג フ hook", REGULAR) == "□ hook גבא"
    note = compose(case_for("coat_hook", part="אבג フ hook"))
    assert "□" in "".join(marked_texts(read(note)).values())


def test_the_fonts_are_small_and_carry_their_licence() -> None:
    files = list(FONTS.glob("*.ttf"))
    assert len(files) == 2 and sum(path.stat().st_size for path in files) < 1_000_000
    licence = (FONTS / "LICENSE.txt").read_text(encoding="utf-8")
    assert "Permission is hereby granted" in licence and "Bitstream" in licence
    letters = "".join(text for language in LANGUAGES for text in all_words(language))
    known = _font(REGULAR).face.charToGlyph
    assert {char for char in letters if ord(char) not in known} == set()


@pytest.mark.parametrize("name", ODD)
def test_odd_names_stay_on_one_page(name: str) -> None:
    note = compose(case_for("coat_hook", maker=Maker(name, name, name), part=name, purpose=name))
    sheet = lay_out(note, "letter", RULER)
    assert faults_of(sheet) == []
    assert len(PdfReader(io.BytesIO(painted(sheet, note))).pages) == 1


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.text(min_size=1, max_size=200).filter(lambda text: text.strip()),
    st.text(max_size=2000),
    st.text(max_size=400),
    st.sampled_from(sorted(PAPERS)),
)
def test_any_name_stays_on_one_page(part: str, purpose: str, address: str, paper: str) -> None:
    maker = Maker(MAKER.name, address, MAKER.contact)
    note = compose(case_for("coat_hook", "de", maker, TRACE, part=part, purpose=purpose))
    sheet = lay_out(note, paper, RULER)
    assert faults_of(sheet) == []
    assert b"%PDF" in painted(sheet, note)[:8]
