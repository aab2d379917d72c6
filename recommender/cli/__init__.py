"""The command line: one module per command group, each a thin shell.

Heavy packages (numpy, scipy, sklearn, shapely, trimesh, sqlite_utils) are imported inside commands only,
so that ``--help`` stays fast; ``tests/cli/test_startup.py`` reads ``sys.modules``.
"""

from __future__ import annotations

import typer

app = typer.Typer(
    name="partduty",
    help="From what a printed part must do to explained print settings.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
)


@app.callback()
def _commands() -> None:
    """From what a printed functional part must do to explained print settings."""


def main() -> None:
    """Entry point of the ``partduty`` command."""
    app()


# Each module registers its commands.
from recommender.cli import answers as _answers  # noqa: E402, F401
from recommender.cli import ask as _ask  # noqa: E402, F401
from recommender.cli import knowledge as _knowledge  # noqa: E402, F401
from recommender.cli import learning as _learning  # noqa: E402, F401
from recommender.cli import log as _log  # noqa: E402, F401
from recommender.cli import materials as _materials  # noqa: E402, F401
from recommender.cli import model as _model  # noqa: E402, F401
from recommender.cli import note as _note  # noqa: E402, F401
from recommender.cli import printers as _printers  # noqa: E402, F401
