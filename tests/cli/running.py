"""Run a command as a person does, and read what it says."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from typer.testing import CliRunner

from halfsplit.cli.main import app

PLAIN = {"COLUMNS": "80", "NO_COLOR": "1", "TERM": "dumb"}
DEMOS = Path(__file__).resolve().parents[2] / "src" / "halfsplit" / "demos"
SHED, WORKSHOP, STAIRS = (DEMOS / f"{n}.yaml" for n in ("boat-shed", "workshop", "stairs"))


@dataclass(frozen=True)
class Ran:
    """What a command printed and how it ended."""

    out: str
    err: str
    status: int


@cache
def halfsplit(*arguments: str, given: str | bytes = "") -> Ran:
    """Run in this process; an error that is not meant for people is raised.

    Remembered, since the same command says the same thing: a file must not change under its name.
    """
    ran = CliRunner().invoke(app, list(arguments), input=given, env=PLAIN)
    if ran.exception is not None and not isinstance(ran.exception, SystemExit):
        raise ran.exception
    return Ran(ran.stdout, ran.stderr, ran.exit_code)


def in_a_process(*arguments: str, **environment: str) -> Ran:
    """Run as a program of its own."""
    env: Mapping[str, str] = {**os.environ, **PLAIN, **environment}
    command = [sys.executable, "-m", "halfsplit", *arguments]
    ran = subprocess.run(command, env=env, capture_output=True, text=True, check=False, timeout=60)
    return Ran(ran.stdout, ran.stderr, ran.returncode)
