"""What the environment may set: how many processors one calculation may use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

THREADS_VARIABLE = "OPENBLAS_NUM_THREADS"


@dataclass(frozen=True, slots=True)
class Settings:
    """``threads`` is how many threads the linear algebra may use, as the variable gives it."""

    threads: str = "1"


def read_settings(environment: Mapping[str, str]) -> Settings:
    """The settings an environment gives; what it leaves out has its default."""
    return Settings(threads=environment.get(THREADS_VARIABLE) or "1")
