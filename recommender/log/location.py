"""Where the outcome log lies."""

from __future__ import annotations

import os
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
    from platformdirs import user_data_path

    return user_data_path("partduty") / FILE_NAME
