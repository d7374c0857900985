"""What all tests share: repeatable generated cases, and the paths of the outside programs."""

from __future__ import annotations

import shutil

import pytest
from hypothesis import HealthCheck, settings

# Two workers on a slow machine must not fail on time, and a failure must come back when run again.
settings.register_profile(
    "house",
    deadline=None,
    derandomize=True,
    database=None,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("house")


@pytest.fixture(scope="session")
def ngspice() -> str:
    """The path of the circuit simulator; the test fails, with the remedy, where it is missing."""
    return _outside("ngspice", "ngspice")


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of a browser; the test fails, with the remedy, where it is missing."""
    return _outside("chromium", "chromium", "chromium-browser", "google-chrome")


def _outside(package: str, *names: str) -> str:
    for name in names:
        path = shutil.which(name)
        if path:
            return path
    pytest.fail(f"{package} is not installed; run scripts/outside, or install {package} with apt")
