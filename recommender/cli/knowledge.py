"""``kb check``, and the one place where commands load the knowledge base."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from recommender.cli import app
from recommender.cli.shell import errors_as_messages
from recommender.errors import InputError

if TYPE_CHECKING:
    from kb.loading import KnowledgeBase

OverlayOption = Annotated[
    Path | None,
    typer.Option("--overlay", envvar="PARTDUTY_OVERLAY", help="Folder with your own spools and printers."),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Machine-readable output.")]

group = typer.Typer(help="Check the knowledge base and your own additions.", no_args_is_help=True)
app.add_typer(group, name="kb")


def overlay_folder(overlay: Path | None) -> Path | None:
    """The user's overlay folder, or None.

    Raises
    ------
    InputError
        The folder does not exist.
    """
    if overlay is not None and not overlay.is_dir():
        raise InputError("--overlay", f"there is no folder {str(overlay)!r}.", "Give an existing folder.")
    return overlay


def knowledge_with(overlay: Path | None) -> KnowledgeBase:
    """The knowledge base with the user's overlay.

    Raises
    ------
    InputError
        The overlay folder does not exist.
    KnowledgeBaseError
        The files have faults; the message says how to list them all.
    """
    from kb.loading import load_knowledge_base

    return load_knowledge_base(overlay_folder(overlay))


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
    from kb.validation import checked, summary, text_faults

    with errors_as_messages():
        folder = overlay_folder(overlay)
    compiled, faults = checked(KB_FOLDER, folder)
    counts = summary(compiled) if not faults else {}
    faults = faults or text_faults(KB_FOLDER, compiled)
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
