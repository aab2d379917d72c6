"""A line of progress for anything longer than a second."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable


def progress_line(clock: Callable[[], float] = time.monotonic) -> Callable[[str, int, int], None]:
    """Report progress on standard error once a second has passed, at most five times a second."""
    start = clock()
    last = [start]

    def show(what: str, done: int, total: int) -> None:
        now = clock()
        if now - start > 1.0 and now - last[0] > 0.2:
            last[0] = now
            end = "\r" if sys.stderr.isatty() else "\n"
            sys.stderr.write(f"{what}: {100 * done / max(total, 1):3.0f} %   {end}")
            sys.stderr.flush()

    return show
