"""The one place that wires things: settings from the environment, set before NumPy loads."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from halfsplit.settings import (
    SECRET_VARIABLE,
    SHARE_VARIABLE,
    STORE_VARIABLE,
    THREADS_VARIABLE,
    Settings,
    read_settings,
)

if TYPE_CHECKING:
    from halfsplit.store.shelf import Shelf


def prepare() -> Settings:
    """Read the settings and limit the linear algebra to one thread unless the person said more.

    The matrices are small: a second thread costs more than it gives. It must run before NumPy is
    first imported, so nothing here imports it.
    """
    settings = read_settings(os.environ)
    os.environ.setdefault(THREADS_VARIABLE, settings.threads)
    return settings


def store_place(settings: Settings) -> str:
    """Where jobs are kept: as set, or a file in the user's data folder."""
    if settings.store:
        return settings.store
    base = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return str(Path(base) / "halfsplit" / "jobs.sqlite")


def open_store(settings: Settings) -> Shelf:
    """The store, made on first use."""
    from halfsplit.store.shelf import open_shelf

    return open_shelf(store_place(settings))


def ready_to_serve(store: str, share: str) -> Settings:
    """Set what the pages will read when they start: the store, and the secret when shared."""
    from halfsplit.store.shelf import new_id

    if store:
        os.environ[STORE_VARIABLE] = store
    os.environ[SHARE_VARIABLE] = share
    os.environ[SECRET_VARIABLE] = new_id(10) if share else ""
    return prepare()


def back_up(settings: Settings, to: Path) -> None:
    """Copy the store into one file. Raises: NotFound, Conflict."""
    from halfsplit.store.shelf import back_up as copy

    copy(Path(store_place(settings)), to)


def restore(settings: Settings, copy: Path) -> None:
    """Put a copy back where the store was. Raises: NotFound, Conflict."""
    from halfsplit.store.shelf import restore as put_back

    put_back(copy, Path(store_place(settings)))
