"""The README's worked example: what the demo really prints."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib.util import find_spec

from tools.page import Page

COMMAND = ("demo",)
"""What follows ``halfsplit`` on the command line."""

NOT_YET = "*(The demo's output will stand here once the demo is built.)*"


def demo() -> str:
    """The demo's printed output as a block, or a line saying that there is no demo yet.

    Raises: RuntimeError with the demo's own message when it fails.
    """
    if not _is_built():
        return NOT_YET
    plain = {**os.environ, "NO_COLOR": "1", "TERM": "dumb", "COLUMNS": "100", "LC_ALL": "C.UTF-8"}
    ran = subprocess.run(
        [sys.executable, "-m", "halfsplit", *COMMAND],
        env=plain,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )
    if f"No such command '{COMMAND[0]}'" in ran.stderr:
        return NOT_YET
    if ran.returncode != 0:
        raise RuntimeError(f"halfsplit {' '.join(COMMAND)} failed: {ran.stderr.strip()}")
    lines = [line.rstrip() for line in ran.stdout.strip("\n").splitlines()]
    return "\n".join(["```text", *lines, "```"])


def _is_built() -> bool:
    try:
        return find_spec("halfsplit.cli.main") is not None
    except ModuleNotFoundError:
        return False


PAGES = (Page("README.md", demo, "demo"),)
