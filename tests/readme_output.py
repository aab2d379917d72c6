"""Keeps the output shown in README.md real.

A block ``<!-- shows: COMMAND -->`` is followed by a fenced block that holds what COMMAND prints, the command
first. ``... first 20 lines`` after the command keeps only that many. Run ``python tests/readme_output.py
--write`` to print them anew; a test compares.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BLOCK = re.compile(
    r"(<!-- shows: (?P<command>[^\n]*?)(?: \.\.\. first (?P<lines>\d+) lines)? -->\n```text\n).*?(\n```)",
    re.DOTALL,
)
COMMANDS = re.compile(r"(<!-- commands -->\n).*?(\n?<!-- /commands -->)", re.DOTALL)


def printed(command: str, store: str) -> str:
    """What `command` (starting with partduty) prints, run in the root with an empty log."""
    words = shlex.split(command)
    done = subprocess.run(
        [sys.executable, "-m", "recommender.cli", *words[1:]],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=120,
        env={**os.environ, "PARTDUTY_STORE": store, "COLUMNS": "80", "PARTDUTY_OVERLAY": ""},
    )  # fmt: skip
    return (done.stdout + done.stderr).rstrip()


def refreshed(text: str) -> str:
    """README's text with every shown output printed anew."""
    with tempfile.TemporaryDirectory() as folder:
        store = str(Path(folder) / "log.db")

        def show(found: re.Match[str]) -> str:
            lines = printed(found["command"], store).splitlines()
            if found["lines"]:
                lines = lines[: int(found["lines"])]
            return f"{found[1]}$ {found['command']}\n" + "\n".join(lines) + found[4]

        return BLOCK.sub(show, text)


def main() -> None:
    from recommender.cli import reference

    path = ROOT / "README.md"
    text = path.read_text(encoding="utf-8")
    listed = COMMANDS.sub(lambda found: found[1] + reference.markdown() + "<!-- /commands -->", text)
    fresh = refreshed(listed)
    if "--write" in sys.argv:
        path.write_text(fresh, encoding="utf-8")
    else:
        print("README.md is as printed" if fresh == text else "README.md differs; run with --write")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
