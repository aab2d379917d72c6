"""``ask``: a duty sheet by questions and answers."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path
from typing import Annotated, Any

import typer

from recommender.cli import app
from recommender.cli.shell import errors_as_messages
from recommender.errors import DutySheetError

OutOption = Annotated[
    Path | None,
    typer.Option("--out", help="File to write; asked at the end when left out.", show_default=False),
]


@app.command("ask")
def ask_command(out: OutOption = None) -> None:
    """Ask in plain words what a part must do, and write the duty sheet.

    The four decisive things come first: what pulls and which way, how hot, how long, who is below. Enter
    takes what stands in brackets; Ctrl-C leaves without writing anything.

    Example: partduty ask --out tap-key.yaml

    Exit code: 0 written, 2 the answers ended too early or the file cannot be written.
    """
    with errors_as_messages():
        path, text = _talk(out)
        _write(path, text)
    typer.echo(f"\nWritten: {path}\nNext: partduty suggest {_for_a_shell(path)}")


def _talk(out: Path | None) -> tuple[Path, str]:
    from recommender.duty.interview import Interview

    if out is not None:
        _can_be_written(out)
    content = Interview(_read_line, typer.echo).sheet()
    path = _agreed_file(out, content["part"])
    return path, _sheet(content, path)


def _read_line(prompt: str) -> str:
    typer.echo(prompt, nl=False)
    try:
        line = sys.stdin.readline()
        line.encode("utf-8")
    except UnicodeError:
        raise DutySheetError(
            "answers", "they are not UTF-8 text; nothing was written.", "Save the answers as UTF-8."
        ) from None
    if not line:
        typer.echo("")
        raise DutySheetError(
            "answers",
            "they end before the last question; nothing was written.",
            "Give one answer on each line (an empty line takes the default), or run it in a terminal.",
        )
    if not sys.stdin.isatty():
        typer.echo(line.rstrip("\n"))
    return line


def _agreed_file(out: Path | None, part: str) -> Path:
    """The file to write, with consent where one of that name exists."""
    path = out or _asked_file(part)
    while path.exists():
        answer = _read_line(f"{path} exists. Overwrite it? [no] > ").strip().lower()
        if answer in ("y", "yes"):
            break
        path = _asked_file(part)
    return path


def _asked_file(part: str) -> Path:
    usual = "-".join("".join(sign if sign.isalnum() else " " for sign in part).split())[:60].lower() or "duty"
    while True:
        answer = _read_line(f"File to write? [{usual}.yaml] > ").strip() or f"{usual}.yaml"
        try:
            _can_be_written(Path(answer))
        except DutySheetError as error:
            typer.echo(f"  {error}")
        else:
            return Path(answer)


def _can_be_written(path: Path) -> None:
    try:
        if path.suffix.lower() not in (".yaml", ".yml"):
            usual = path.with_suffix(".yaml") if path.name else "duty.yaml"
            raise DutySheetError(str(path), "a duty sheet ends in .yaml.", f"Write {usual}.")
        if path.exists() and not path.is_file():
            raise DutySheetError(str(path), "this is not an ordinary file.", "Name a file to write.")
        if not path.parent.is_dir():
            raise DutySheetError(str(path), "its folder does not exist.", "Make the folder or name another.")
    except (OSError, ValueError) as error:
        raise DutySheetError(
            str(path)[:80], f"this name cannot be used ({error}).", "Name another."
        ) from None


def _sheet(content: dict[str, Any], path: Path) -> str:
    from recommender.duty.reference import comments
    from recommender.duty.writing import sheet_text

    heading = (
        "Duty sheet. Every quantity carries its unit; change what you like, then run\n"
        f"  partduty suggest {_for_a_shell(path)}"
    )
    form = content["form"]
    return sheet_text(content, comments(form["kind"], form.get("section", {}).get("shape", "")), heading)


def _write(path: Path, text: str) -> None:
    """Write at one stroke: the file is complete or not there."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".partduty-", suffix=".tmp")
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
            Path(name).chmod(0o644)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise DutySheetError(
            str(path), f"the file cannot be written ({error.strerror}).", "Name another folder with --out."
        ) from None


def _for_a_shell(path: Path) -> str:
    import shlex

    return shlex.quote(" ".join(str(path).split()))
