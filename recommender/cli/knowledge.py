"""``kb check``, and the one place where commands load the knowledge base."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from recommender.cli import app
from recommender.errors import InputError, KnowledgeError, PartdutyError

if TYPE_CHECKING:
    from kb.loading import KnowledgeBase

OVERLAY_VARIABLE = "PARTDUTY_KNOWLEDGE"

OverlayOption = Annotated[
    Path | None,
    typer.Option(
        "--overlay", help=f"Folder with your own facts, spools and printers (else ${OVERLAY_VARIABLE})."
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Machine-readable output.")]

group = typer.Typer(help="Check the knowledge base and your own additions.", no_args_is_help=True)
app.add_typer(group, name="kb")


@contextmanager
def errors_as_messages() -> Iterator[None]:
    """Show errors meant for the user as one line and exit with 2."""
    try:
        yield
    except PartdutyError as error:
        typer.echo(f"error: {error}", err=True)
        raise typer.Exit(code=2) from error


def overlay_folder(overlay: Path | None = None) -> Path | None:
    """The user's overlay: the option, else the environment variable, else none.

    Raises
    ------
    InputError
        The folder does not exist.
    """
    named = overlay or (Path(value) if (value := os.environ.get(OVERLAY_VARIABLE)) else None)
    if named is not None and not named.is_dir():
        field = "--overlay" if overlay else OVERLAY_VARIABLE
        raise InputError(field, f"there is no folder {str(named)!r}.", "Give an existing folder.")
    return named


def knowledge_with(overlay: Path | None = None) -> KnowledgeBase:
    """The knowledge base with the user's overlay.

    Raises
    ------
    KnowledgeError
        The files have faults; the message says how to list them all.
    InputError
        The overlay folder does not exist.
    """
    from kb.loading import KnowledgeBaseError, load_knowledge_base

    folder = overlay_folder(overlay)
    try:
        return load_knowledge_base(folder)
    except KnowledgeBaseError as error:
        raise KnowledgeError(str(error)) from error


@group.callback()
def _kb() -> None:
    """Check the knowledge base and your own additions."""


@group.command("check")
def check_command(overlay: OverlayOption = None, as_json: JsonOption = False) -> None:
    """List every fault of the knowledge base, with file and field, and count its facts by grade.

    Example: partduty kb check --overlay my_facts

    Exit code: 0 no fault, 1 faults found, 2 the folder does not exist.
    """
    from kb.loading import KB_FOLDER
    from kb.validation import checked, summary

    with errors_as_messages():
        folder = overlay_folder(overlay)
    compiled, faults = checked(KB_FOLDER, folder)
    counts = summary(compiled) if not faults else {}
    if as_json:
        typer.echo(json.dumps({"problems": faults, **counts}, indent=2, ensure_ascii=False))
    else:
        typer.echo(_check_text(faults, counts))
    raise typer.Exit(code=1 if faults else 0)


def _check_text(faults: list[str], counts: dict[str, object]) -> str:
    if faults:
        return "\n".join([*faults, f"{len(faults)} problem(s) found"])
    facts = counts["facts_by_grade"]
    assert isinstance(facts, dict)
    return (
        f"no problem found in {counts['materials']} materials, {counts['printers']} printer classes, "
        f"{counts['lattices']} infill patterns\n"
        f"and {counts['sources']} sources (version {counts['version']})\n"
        f"facts by grade: A {facts['A']}, B {facts['B']}, C (our own estimates) {facts['C']}; "
        f"{counts['set_aside']} of them set aside with a reason"
    )
