"""``accuracy``: how far predictions miss what was measured."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from recommender.cli import app
from recommender.cli.shell import errors_as_messages


@app.command("accuracy")
def accuracy_command(
    as_json: Annotated[bool, typer.Option("--json", help="Machine-readable output.")] = False,
    by_study: Annotated[bool, typer.Option("--by-study", help="Also one line per study.")] = False,
    svg: Annotated[
        Path | None, typer.Option("--svg", help="Also draw predicted against measured into this file.")
    ] = None,
) -> None:
    """Tell how far the predictions of strength miss bars of studies that were held out whole.

    Example: partduty accuracy --by-study --svg predicted_and_measured.svg

    Exit code: 0 told, 2 the file cannot be written.
    """
    with errors_as_messages():
        import json

        from kb.loading import load_knowledge_base
        from recommender.regression.record import shipped_record
        from recommender.regression.scores import load_held_out
        from recommender.report.accuracy import accuracy, as_text

        table = load_held_out()
        told = accuracy(table, shipped_record(), load_knowledge_base())
        if svg is not None:
            _draw(svg)
        typer.echo(json.dumps(told, indent=1, ensure_ascii=False) if as_json else as_text(told, by_study))


def _draw(path: Path) -> None:
    from recommender.errors import InputError
    from recommender.regression.scores import load_held_out
    from recommender.report.accuracy_chart import chart

    table = load_held_out()
    drawing = chart(table.where(table["fitted"]), "Strength of bars, each study held out whole")
    try:
        path.write_text(drawing, encoding="utf-8")
    except OSError as error:
        raise InputError(
            "--svg", f"{path} cannot be written ({error.strerror}).", "Name another file."
        ) from None
