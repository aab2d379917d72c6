"""``check`` and ``resize``: commands on model files. Heavy imports happen inside the commands."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer

from recommender.cli import app
from recommender.errors import PartdutyError

ModelArgument = Annotated[Path, typer.Argument(help="STL, OBJ or 3MF file.", show_default=False)]
JsonOption = Annotated[bool, typer.Option("--json", help="Machine-readable output.")]


@contextmanager
def _messages() -> Iterator[None]:
    """Show errors meant for the user as one line and exit with 2; end quietly on Ctrl-C."""
    try:
        yield
    except PartdutyError as error:
        typer.echo(f"error: {error}", err=True)
        raise typer.Exit(code=2) from error
    except KeyboardInterrupt as stopped:
        typer.echo("stopped; nothing was written.", err=True)
        raise typer.Exit(code=130) from stopped


def _progress_line() -> Callable[[str, int, int], None]:
    """Report progress on standard error once a second has passed, at most five times a second."""
    start = time.monotonic()
    last = [start]

    def show(what: str, done: int, total: int) -> None:
        now = time.monotonic()
        if now - start > 1.0 and now - last[0] > 0.2:
            last[0] = now
            end = "\r" if sys.stderr.isatty() else "\n"
            sys.stderr.write(f"{what}: {100 * done / max(total, 1):3.0f} %   {end}")
            sys.stderr.flush()

    return show


def _print(values: Any, text: str, as_json: bool) -> None:
    typer.echo(json.dumps(values, indent=2, allow_nan=False) if as_json else text)


@app.command("check")
def check_command(
    model: ModelArgument,
    layer_height: Annotated[float, typer.Option(help="Layer height in mm.")] = 0.2,
    line_width: Annotated[float, typer.Option(help="Line width in mm.")] = 0.45,
    nozzle: Annotated[float, typer.Option(help="Nozzle diameter in mm.")] = 0.4,
    units: Annotated[
        str | None, typer.Option(help="Unit of the file: mm, cm, m, inch, foot, micron.")
    ] = None,
    repair: Annotated[bool, typer.Option("--repair", help="Repair what can be repaired safely.")] = False,
    simplify: Annotated[
        float | None, typer.Option(help="Let vertices of a huge file move by so many mm.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Look through every layer of MODEL: is it sound, and will it print at this nozzle?

    Example: partduty check bracket.stl --layer-height 0.2 --line-width 0.45

    Exit code: 0 no problem found, 1 problems found, 2 the file or an option is wrong.
    """
    with _messages():
        from recommender.geometry import check_text
        from recommender.geometry.check import CheckSettings, check_model

        settings = CheckSettings(layer_height, line_width, nozzle, units, repair, simplify)
        result = check_model(model, settings, _progress_line())
        _print(check_text.as_values(result), check_text.as_text(result), as_json)
    raise typer.Exit(code=0 if result.fine else 1)
