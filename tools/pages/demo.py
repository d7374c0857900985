"""The README's worked example: what the demo really prints."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib.util import find_spec

from tools.page import Page

COMMAND = ("demo",)
"""What follows ``halfsplit`` on the command line."""


def demo() -> str:
    """The demo's printed output as a block, or a line saying that there is no demo yet.

    Raises: RuntimeError with the demo's own message when it fails.
    """
    if find_spec("halfsplit.cli") is None:
        return "*(The demo's output will stand here once the command line is built.)*"
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
    if ran.returncode != 0:
        raise RuntimeError(f"halfsplit {' '.join(COMMAND)} failed: {ran.stderr.strip()}")
    lines = [line.rstrip() for line in ran.stdout.strip("\n").splitlines()]
    return "\n".join(["```text", *lines, "```"])


PAGES = (Page("README.md", demo, "demo"),)
