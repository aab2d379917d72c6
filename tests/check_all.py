"""Everything that must hold before a change lands; run by the README's test command and by ``.ci/run``.

Usage: ``python tests/check_all.py [--fast]`` (``--fast`` leaves out slow tests and the coverage floor).
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

COVERAGE_FLOOR = 90


def steps(fast: bool) -> list[tuple[str, list[str]]]:
    tests = ["pytest", "-n", "2", "--dist", "loadfile"]
    if fast:
        tests += ["-m", "not slow"]
    else:
        tests += ["--cov", "--cov-report=term:skip-covered", f"--cov-fail-under={COVERAGE_FLOOR}"]
    return [
        # Where the environment forbids writing byte code, commands of an editable install would start slowly.
        ("byte code", ["compileall", "-q", "kb", "recommender"]),
        ("formatter", ["ruff", "format", "--check", "."]),
        ("linter", ["ruff", "check", "."]),
        ("types", ["mypy"]),
        ("tests", tests),
    ]


def main() -> int:
    failed = []
    for name, command in steps("--fast" in sys.argv):
        start = time.monotonic()
        print(f"== {name}", flush=True)
        code = subprocess.run([sys.executable, "-m", *command], cwd=ROOT).returncode
        print(
            f"== {name}: {'passed' if code == 0 else 'FAILED'} in {time.monotonic() - start:.0f} s",
            flush=True,
        )
        if code:
            failed.append(name)
    print("all checks passed" if not failed else f"failed: {', '.join(failed)}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
