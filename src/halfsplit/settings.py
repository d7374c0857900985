"""What the environment may set: threads of one calculation, and whether failures show a trace."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

THREADS_VARIABLE = "OPENBLAS_NUM_THREADS"
TRACEBACK_VARIABLE = "HALFSPLIT_TRACEBACK"


@dataclass(frozen=True, slots=True)
class Settings:
    """``threads`` is how many threads the linear algebra may use, as the variable gives it.

    ``traceback`` asks for the whole trace when the program itself fails.
    """

    threads: str = "1"
    traceback: bool = False


def read_settings(environment: Mapping[str, str]) -> Settings:
    """The settings an environment gives; what it leaves out has its default."""
    return Settings(
        threads=environment.get(THREADS_VARIABLE) or "1",
        traceback=environment.get(TRACEBACK_VARIABLE, "") not in ("", "0", "no"),
    )
