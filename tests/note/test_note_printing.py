"""HTML as a browser prints it: one page. Needs a Chromium on the machine; left out where there is none."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from note_cases import case_for
from pypdf import PdfReader
from test_note_pdf import longest_case

from recommender.report.note.compose import compose
from recommender.report.note.html import as_html
from recommender.report.note.maker import maker_checklist

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


@pytest.mark.slow
@pytest.mark.skipif(BROWSER is None, reason="no Chromium here")
@pytest.mark.parametrize(("kind", "language", "paper"), [
    ("longest", "de", "letter"),
    ("longest", "fr", "a4"),
    ("usual", "en", "a4"),
    ("maker", "fr", "letter"),
])  # fmt: skip
def test_the_html_prints_on_one_page(kind: str, language: str, paper: str, tmp_path: Path) -> None:
    note = {
        "longest": lambda: compose(longest_case(language)),
        "usual": lambda: compose(case_for("trellis_bar", language)),
        "maker": lambda: maker_checklist(case_for("shelf_bracket", language)),
    }[kind]()
    page, printed = tmp_path / "note.html", tmp_path / "note.pdf"
    page.write_text(as_html(note, paper), encoding="utf-8")
    options = ["--headless=new", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run(
        [
            str(BROWSER),
            *options,
            f"--user-data-dir={tmp_path / 'user'}",
            f"--print-to-pdf={printed}",
            page.as_uri(),
        ],
        capture_output=True,
        timeout=120,
        check=True,
    )
    reader = PdfReader(printed)
    assert len(reader.pages) == 1
    words = "".join(reader.pages[0].extract_text().split())
    assert "".join(note.closing[-1].split()) in words  # the foot of the page is on it
