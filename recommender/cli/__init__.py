"""The command line: one module per command group, each a thin shell.

Heavy packages (numpy, scipy, sklearn, shapely, trimesh, sqlite_utils) are imported inside commands only,
so that ``--help`` stays fast; ``tests/cli/test_startup.py`` reads ``sys.modules``. A command that is named on
the command line is registered alone, because describing every option of every command costs more than the
shortest answers.
"""

from __future__ import annotations

import gc
import os
import sys
from importlib import import_module
from typing import Any

import typer

# Command or group -> the module that registers it, in the order of the help text.
MODULES: dict[str, str] = {
    "ask": "ask",
    "suggest": "answers",
    "assess": "answers",
    "log": "log",
    "learned": "learning",
    "sizes": "learning",
    "diagnose": "learning",
    "note": "note",
    "profile": "note",
    "check": "model",
    "resize": "model",
    "materials": "materials",
    "printers": "printers",
    "kb": "knowledge",
    "accuracy": "accuracy",
}


class Commands(typer.Typer):
    """A Typer whose command modules are imported when its commands are first looked at."""

    only: str | None = None

    def _imported(self) -> None:
        if not self.__dict__.get("loaded"):
            self.__dict__["loaded"] = True
            wanted = [MODULES[self.only]] if self.only in MODULES else list(dict.fromkeys(MODULES.values()))
            for name in wanted:
                import_module(f"recommender.cli.{name}")

    @property
    def registered_commands(self) -> list[Any]:
        """Commands of the modules imported so far, all of them unless one was asked for."""
        self._imported()
        commands: list[Any] = self.__dict__.setdefault("commands", [])
        return commands

    @registered_commands.setter
    def registered_commands(self, commands: list[Any]) -> None:
        self.__dict__["commands"] = commands

    @property
    def registered_groups(self) -> list[Any]:
        """Groups of the modules imported so far, all of them unless one was asked for."""
        self._imported()
        groups: list[Any] = self.__dict__.setdefault("groups", [])
        return groups

    @registered_groups.setter
    def registered_groups(self, groups: list[Any]) -> None:
        self.__dict__["groups"] = groups


app = Commands(
    name="partduty",
    help="From what a printed part must do to explained print settings, a log of what came out, and a note.",
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
    gc.set_threshold(100_000, 50, 50)  # a short-lived process gains nothing from early collections
    # Our matrices are small: more threads only wait for each other, and starting them costs time.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    app.only = sys.argv[1] if len(sys.argv) > 1 else None
    try:
        app()
    except SystemExit as stop:
        _leave(stop)


def _leave(stop: SystemExit) -> None:
    """End the process with the code of `stop`, without taking the loaded packages apart.

    Everything written has been closed or committed by then; taking numpy and the rest apart would cost a
    seventh of the time of a suggestion. Where output cannot be flushed, the ordinary way out is taken.
    """
    if stop.code is None or isinstance(stop.code, int):
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(stop.code or 0)
    raise stop
