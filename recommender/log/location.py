"""Where the outcome log lies."""

from __future__ import annotations

import os
import sys
from pathlib import Path

VARIABLE = "PARTDUTY_STORE"
FILE_NAME = "outcomes.db"


def store_path(given: Path | None = None) -> Path:
    """Path of the log: as given, else from the environment, else in the user's data folder."""
    if given is not None:
        return given.expanduser()
    from_environment = os.environ.get(VARIABLE)
    if from_environment:
        return Path(from_environment).expanduser()
    return data_folder() / FILE_NAME


def data_folder() -> Path:
    """The user's data folder of this program.

    On Linux the rule is one line (XDG base directory specification), so the library that knows all systems is
    not loaded there.
    """
    system: str = sys.platform
    if system == "linux":
        named = os.environ.get("XDG_DATA_HOME", "").strip()
        return (Path(named) if named else Path.home() / ".local" / "share") / "partduty"
    from platformdirs import user_data_path

    return user_data_path("partduty")
