"""The list of commands for README.md, made from the commands themselves.

``python -m recommender.cli.reference`` prints it; a test holds README.md against it.
"""

from __future__ import annotations

from typing import Any


def _first_sentence(command: Any) -> str:
    text = " ".join((command.help or "").split("\n\n")[0].split())
    return text.rstrip(".") + "."


def _arguments(command: Any) -> str:
    names = [str(p.name).upper() for p in command.params if p.param_type_name == "argument"]
    return "".join(f" {name}" for name in names)


def markdown() -> str:
    """A table of every command with its arguments and the first sentence of its help."""
    from typer.main import get_command

    from recommender.cli import app

    root: Any = get_command(app)
    rows = ["| command | what it does |", "|---|---|"]
    for name, command in root.commands.items():
        rows.append(f"| `partduty {name}{_arguments(command)}` | {_first_sentence(command)} |")
        for inner, part in getattr(command, "commands", {}).items():
            rows.append(f"| `partduty {name} {inner}{_arguments(part)}` | {_first_sentence(part)} |")
    return "\n".join(rows) + "\n"


if __name__ == "__main__":
    print(markdown(), end="")
