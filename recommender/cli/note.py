"""``note`` and ``profile``: the page for whoever receives the part, and who makes the parts."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from recommender.cli import app
from recommender.cli.answers import OverlayOption
from recommender.cli.shell import errors_as_messages

if TYPE_CHECKING:
    from kb.loading import KnowledgeBase
    from recommender.answer import Answer
    from recommender.duty.sheet import Duty
    from recommender.report.note.case import Case, Trace
    from recommender.report.note.profile import Profile
    from recommender.report.note.rendering import Format


class FileFormat(StrEnum):
    """Formats of the page."""

    pdf = "pdf"
    html = "html"
    md = "md"
    txt = "txt"


class Paper(StrEnum):
    """Paper sizes."""

    a4 = "a4"
    letter = "letter"


class Language(StrEnum):
    """Languages of the page."""

    en = "en"
    de = "de"
    fr = "fr"
    es = "es"


class Units(StrEnum):
    """Units that stand first."""

    metric = "metric"
    us = "us"


ProfileOption = Annotated[
    Path | None,
    typer.Option("--profile", envvar="PARTDUTY_PROFILE", help="Profile file; see `partduty profile`."),
]


@app.command("note")
def note_command(
    sheet: Annotated[
        Path | None, typer.Argument(help="Duty sheet (YAML or JSON).", show_default=False)
    ] = None,
    print_id: Annotated[
        str | None, typer.Option("--print", help="A print in the log, instead of a sheet.")
    ] = None,
    maker: Annotated[
        bool, typer.Option("--maker", help="The maker's checklist instead of the note.")
    ] = False,
    form: Annotated[FileFormat, typer.Option("--format", help="Format of the file.")] = FileFormat.pdf,
    out: Annotated[
        Path | None, typer.Option("--out", help="File to write; md and txt go to the screen without it.")
    ] = None,
    paper: Annotated[Paper | None, typer.Option("--paper", help="Paper; else as in the profile.")] = None,
    language: Annotated[
        list[Language] | None,
        typer.Option("--language", help="Reader's language; may be given again; else as in the profile."),
    ] = None,
    units: Annotated[Units | None, typer.Option("--units", help="Units that stand first.")] = None,
    batch: Annotated[str | None, typer.Option(help="Batch number.")] = None,
    date: Annotated[str | None, typer.Option(help="Day on which it was made.")] = None,
    colour: Annotated[str, typer.Option(help="Colour of the plastic.")] = "",
    store: Annotated[Path | None, typer.Option("--store", help="Log file; else PARTDUTY_STORE.")] = None,
    profile: ProfileOption = None,
    overlay: OverlayOption = None,
) -> None:
    """Write the one-page safety note for whoever receives the part in SHEET.

    A refused use gets a plain refusal page with whom to consult.

    Example: partduty note datasets/examples/shed_shelf_bracket.yaml --language de --out shelf.pdf

    Exit code: 0 the note was written, 1 nothing suitable or refused (the page says why), 2 the input is wrong.
    """
    with errors_as_messages():
        from kb.loading import load_knowledge_base
        from recommender.report.note.profile import read_profile

        about = read_profile(profile)
        knowledge = load_knowledge_base(overlay)
        duty, answer, trace = _asked(sheet, print_id, store, knowledge)
        trace = _with_trace(trace, about, batch, date, colour)
        languages = [chosen.value for chosen in language or []] or list(about.languages)
        first = units.value if units else about.units
        cases = [_case(duty, answer, trace, knowledge, about, chosen, first) for chosen in languages]
        stem = sheet.stem if sheet is not None else f"print-{print_id}"
        _write_all(cases, maker, form.value, paper.value if paper else about.paper, out, stem)
    raise typer.Exit(code=0 if cases[0].is_assessed else 1)


def _asked(
    sheet: Path | None, print_id: str | None, store: Path | None, knowledge: KnowledgeBase
) -> tuple[Duty, Answer, Trace]:
    from recommender.errors import InputError

    if (sheet is None) == (print_id is None):
        raise InputError("SHEET", "name a duty sheet or a print, one of the two.", "Or write --print ID.")
    return _from_sheet(sheet, knowledge) if sheet is not None else _from_log(str(print_id), store, knowledge)


def _from_sheet(sheet: Path, knowledge: KnowledgeBase) -> tuple[Duty, Answer, Trace]:
    from recommender.duty.reading import read_duty
    from recommender.log.learning.lessons import learned_for
    from recommender.report.note.case import NO_TRACE
    from recommender.suggest import DEFAULT_PRINTER, suggest

    duty = read_duty(sheet)
    learned = learned_for(duty, knowledge.materials, printer=DEFAULT_PRINTER)
    return duty, suggest(duty, knowledge, learned), NO_TRACE


def _from_log(print_id: str, store: Path | None, knowledge: KnowledgeBase) -> tuple[Duty, Answer, Trace]:
    from contextlib import closing

    from recommender.log.location import store_path
    from recommender.log.store import errors_explained
    from recommender.report.note.from_log import logged_part, open_log

    with closing(open_log(store)) as connection, errors_explained(store_path(store)):
        return logged_part(connection, print_id, knowledge)


def _with_trace(trace: Trace, about: Profile, batch: str | None, date: str | None, colour: str) -> Trace:
    from dataclasses import replace

    return replace(
        trace,
        batch=batch or trace.batch or about.batch,
        made_on=date or trace.made_on or about.date,
        colour=colour or trace.colour,
    )


def _case(
    duty: Duty,
    answer: Answer,
    trace: Trace,
    knowledge: KnowledgeBase,
    about: Profile,
    language: str,
    units: str,
) -> Case:
    from recommender.report.note.gather import case_of

    return case_of(duty, answer, knowledge, about.maker, language, "us" if units == "us" else "metric", trace)


def _write_all(cases: list[Case], maker: bool, form: Format, paper: str, out: Path | None, stem: str) -> None:
    """Make every page first, so that nothing is written when one of them cannot be made."""
    from recommender.report.note.compose import compose
    from recommender.report.note.maker import maker_checklist
    from recommender.report.note.rendering import file_name, rendered, write_whole

    several = len(cases) > 1
    pages = []
    for case in cases:
        note = maker_checklist(case) if maker else compose(case)
        pages.append((note.kind, note.language if several else "", rendered(note, form, paper)))
    for kind, language, content in pages:
        if out is None and form in ("md", "txt"):
            typer.echo(content.decode(), nl=False)
            continue
        target = Path(file_name(stem, kind, form, language)) if out is None else _named(out, language)
        write_whole(content, target)
        typer.echo(f"wrote {target}")


def _named(out: Path, language: str) -> Path:
    return out.with_name(f"{out.stem}.{language}{out.suffix}") if language else out


@app.command("profile")
def profile_command(
    profile: ProfileOption = None,
    write: Annotated[bool, typer.Option("--write", help="Start a profile to fill in.")] = False,
) -> None:
    """Show where your profile lies and what it says: maker, address, contact, languages, units, paper.

    Example: partduty profile --write

    Exit code: 0 shown or written, 2 the profile is wrong or already there.
    """
    with errors_as_messages():
        from recommender.errors import InputError
        from recommender.report.note.profile import TEMPLATE, profile_path, read_profile
        from recommender.report.note.rendering import write_whole

        path = profile_path(profile)
        if write:
            if path.exists():
                raise InputError(str(path), "there is a profile already.", "Edit it, or move it away.")
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(TEMPLATE.encode(), path)
            typer.echo(f"wrote {path}; fill it in with a text editor.")
            return
        about = read_profile(profile)
        typer.echo(f"profile: {path}" + ("" if path.exists() else " (not written yet)"))
        shown = {"maker": about.maker.name, "address": about.maker.address, "contact": about.maker.contact,
                 "batch": about.batch, "date": about.date, "languages": ", ".join(about.languages),
                 "units": about.units, "paper": about.paper}  # fmt: skip
        for name, text in shown.items():
            typer.echo(f"{name}: {text or 'not given'}")
