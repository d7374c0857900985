"""The one place that wires things: settings from the environment, set before NumPy loads."""

from __future__ import annotations

import os

from halfsplit.settings import THREADS_VARIABLE, Settings, read_settings


def prepare() -> Settings:
    """Read the settings and limit the linear algebra to one thread unless the person said more.

    The matrices are small: a second thread costs more than it gives. It must run before NumPy is
    first imported, so nothing here imports it.
    """
    settings = read_settings(os.environ)
    os.environ.setdefault(THREADS_VARIABLE, settings.threads)
    return settings
