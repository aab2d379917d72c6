"""The commands ``note`` and ``profile``."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from note_cases import SHEETS
from typer.testing import CliRunner

from recommender.cli import app
from recommender.report.note.profile import Profile, ProfileError, profile_from, read_profile

RUNNER = CliRunner()
EXAMPLE = "datasets/examples/curtain_rod_end.yaml"


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.delenv("PARTDUTY_PROFILE", raising=False)
    return tmp_path


def sheet_file(folder: Path, name: str) -> Path:
    path = folder / f"{name}.yaml"
    path.write_text(yaml.safe_dump(SHEETS[name][1], allow_unicode=True), encoding="utf-8")
    return path


def test_a_note_is_written_as_a_pdf(own_folder: Path) -> None:
    target = own_folder / "rod.pdf"
    result = RUNNER.invoke(app, ["note", EXAMPLE, "--out", str(target), "--paper", "letter"])
    assert result.exit_code == 0 and "rod.pdf" in result.stdout
    assert target.read_bytes().startswith(b"%PDF")


def test_text_goes_to_the_screen(own_folder: Path) -> None:
    result = RUNNER.invoke(
        app, ["note", EXAMPLE, "--format", "txt", "--batch", "B-7", "--colour", "white", "--units", "us"]
    )
    assert result.exit_code == 0
    assert "SAFETY NOTE" in result.stdout and "Batch: B-7" in result.stdout
    assert " lb (" in result.stdout and "Address: not given" in result.stdout
    assert list(own_folder.glob("*.txt")) == []


def test_a_refused_use_writes_its_page_and_exits_with_one(own_folder: Path) -> None:
    target = own_folder / "swing.html"
    sheet = sheet_file(own_folder, "child_swing_hook")
    result = RUNNER.invoke(app, ["note", str(sheet), "--format", "html", "--out", str(target)])
    assert result.exit_code == 1
    page = target.read_text(encoding="utf-8")
    assert "Do not print this part" in page and "30 kg" not in page


def test_languages_and_maker_come_from_the_profile(own_folder: Path) -> None:
    profile = own_folder / "profile.yaml"
    profile.write_text("maker: Anna\nlanguages: [de, fr]\nbatch: P-1\npaper: letter\n", encoding="utf-8")
    target = own_folder / "rod.md"
    result = RUNNER.invoke(
        app, ["note", EXAMPLE, "--format", "md", "--out", str(target), "--profile", str(profile)]
    )
    assert result.exit_code == 0
    assert "Sicherheitshinweise" in (own_folder / "rod.de.md").read_text(encoding="utf-8")
    french = (own_folder / "rod.fr.md").read_text(encoding="utf-8")
    assert "Notice de sécurité" in french and "Anna" in french and "P-1" in french


def test_the_makers_checklist(own_folder: Path) -> None:
    result = RUNNER.invoke(app, ["note", EXAMPLE, "--maker", "--format", "txt"])
    assert result.exit_code == 0 and "MAKER'S CHECKLIST" in result.stdout


@pytest.mark.parametrize(("arguments", "words"), [
    ([], "name a duty sheet or a print"),
    ([EXAMPLE, "--print", "7"], "one of the two"),
    (["missing.yaml"], "there is no such file"),
    ([EXAMPLE, "--out", "no/such/folder/x.pdf"], "cannot be written"),
    ([EXAMPLE, "--profile", "missing.yaml"], "there is no such profile"),
])  # fmt: skip
def test_wrong_input_is_one_message_and_exit_code_two(arguments: list[str], words: str) -> None:
    result = RUNNER.invoke(app, ["note", *arguments])
    assert result.exit_code == 2
    assert words in result.stderr and result.stderr.count("\n") == 1


# -- profile -----------------------------------------------------------------------------------------------


def test_a_profile_is_started_once_and_then_shown(own_folder: Path) -> None:
    first = RUNNER.invoke(app, ["profile", "--write"])
    assert first.exit_code == 0
    written = own_folder / "config" / "partduty" / "profile.yaml"
    assert written.exists() and read_profile() == Profile()
    assert RUNNER.invoke(app, ["profile", "--write"]).exit_code == 2
    shown = RUNNER.invoke(app, ["profile"])
    assert shown.exit_code == 0 and "maker: not given" in shown.stdout


@pytest.mark.parametrize(("content", "words"), [
    ({"makr": "Anna"}, "there is no such field"),
    ({"maker": ["Anna"]}, "is not text"),
    ({"languages": ["it"]}, "Allowed: en, de, fr, es"),
    ({"languages": {"a": 1}}, "is not a list"),
    ({"languages": [["en"]]}, "is not known"),
    ({"units": "stone"}, "Allowed: metric, us"),
    ({"paper": "a5"}, "Allowed: a4, letter"),
])  # fmt: skip
def test_a_wrong_profile_is_refused(content: dict[str, object], words: str) -> None:
    with pytest.raises(ProfileError, match=words):
        profile_from(content)


@pytest.mark.parametrize("content", ["- a\n- b\n", "a: [", "\x00", "maker: " + "x" * 60_000, b"\xff\xfe\xfa"])
def test_a_broken_profile_is_refused(own_folder: Path, content: str | bytes) -> None:
    path = own_folder / "broken.yaml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(ProfileError, match=r"broken\.yaml"):
        read_profile(path)


def test_an_empty_profile_is_a_profile(own_folder: Path) -> None:
    path = own_folder / "empty.yaml"
    path.write_text("# nothing yet\n", encoding="utf-8")
    assert read_profile(path) == Profile()
    path.write_text("date: 2026-11-20\nlanguages: es\n", encoding="utf-8")
    assert read_profile(path) == Profile(date="2026-11-20", languages=("es",))
