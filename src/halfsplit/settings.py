"""What the environment may set: threads, traces of failures, where jobs are kept, sharing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

THREADS_VARIABLE = "OPENBLAS_NUM_THREADS"
TRACEBACK_VARIABLE = "HALFSPLIT_TRACEBACK"
STORE_VARIABLE = "HALFSPLIT_STORE"
SHARE_VARIABLE = "HALFSPLIT_SHARE"
SECRET_VARIABLE = "HALFSPLIT_PAIRING_SECRET"


@dataclass(frozen=True, slots=True)
class Settings:
    """``threads`` is how many threads the linear algebra may use, as the variable gives it.

    ``traceback`` asks for the whole trace when the program itself fails. ``store`` is the file (or
    database address) where jobs are kept, "" for the usual one. ``share`` is the address under
    which phones reach the pages, "" for this machine alone; ``secret`` lets them join.
    """

    threads: str = "1"
    traceback: bool = False
    store: str = ""
    share: str = ""
    secret: str = ""


def read_settings(environment: Mapping[str, str]) -> Settings:
    """The settings an environment gives; what it leaves out has its default."""
    return Settings(
        threads=environment.get(THREADS_VARIABLE) or "1",
        traceback=environment.get(TRACEBACK_VARIABLE, "") not in ("", "0", "no"),
        store=environment.get(STORE_VARIABLE, ""),
        share=environment.get(SHARE_VARIABLE, ""),
        secret=environment.get(SECRET_VARIABLE, ""),
    )
