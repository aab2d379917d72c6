"""``partduty --help`` must stay light: no heavy package may be loaded for it."""

from __future__ import annotations

import subprocess
import sys

HEAVY = ("numpy", "scipy", "sklearn", "shapely", "trimesh", "sqlite_utils", "manifold3d", "reportlab", "pint")


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys\n"
        "from recommender.cli import app\n"
        "try:\n    app(['--help'])\nexcept SystemExit:\n    pass\n"
        f"print('LOADED', [n for n in {HEAVY!r} if n in sys.modules])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert "suggest" in done.stdout
    assert done.stdout.strip().endswith("LOADED []")


def test_every_command_is_found_alone_and_in_the_help() -> None:
    from typer.main import get_command

    from recommender.cli import MODULES, app

    known = get_command(app).commands  # type: ignore[attr-defined]
    assert set(known) == set(MODULES)


def test_one_command_loads_no_other_module() -> None:
    code = (
        "import sys\n"
        "sys.argv = ['partduty', 'suggest', '--help']\n"
        "from recommender.cli import app\napp.only = 'suggest'\n"
        "try:\n    app()\nexcept SystemExit:\n    pass\n"
        "print('LOADED', sorted(n for n in sys.modules if n.startswith('recommender.cli.')))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.strip().endswith("LOADED ['recommender.cli.answers', 'recommender.cli.shell']")
