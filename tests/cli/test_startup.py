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
