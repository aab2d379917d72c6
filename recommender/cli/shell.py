"""What every command does alike: errors become one line and an exit code."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import typer

from kb.faults import KnowledgeBaseError
from recommender.errors import PartdutyError


@contextmanager
def errors_as_messages() -> Iterator[None]:
    """Show an error meant for the user as one line and exit with 2; end quietly on Ctrl-C."""
    try:
        yield
    except (PartdutyError, KnowledgeBaseError) as error:
        typer.echo(f"error: {error}", err=True)
        raise typer.Exit(code=2) from error
    except KeyboardInterrupt as stopped:
        typer.echo("stopped; nothing was written.", err=True)
        raise typer.Exit(code=130) from stopped
