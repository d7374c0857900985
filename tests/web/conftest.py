"""A real browser on a real server, at phone and desktop size."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.web.desk import Server

ARGUMENTS = ["--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]
SIZES = {"phone": {"width": 390, "height": 844}, "desktop": {"width": 1280, "height": 900}}


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Any]:
    """One browser for all tests; each test has its own profile."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        found = player.chromium.launch(executable_path=chromium, args=ARGUMENTS)
        yield found
        found.close()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """The pages on a port of this machine, on an empty store."""
    made = Server(tmp_path)
    made.start()
    yield made
    made.stop()


@pytest.fixture
def phone(browser: Any, server: Server) -> Iterator[Callable[..., Any]]:
    """Opens a page in a profile of its own; fails on errors and on requests elsewhere."""
    opened: list[Any] = []
    faults: list[str] = []

    def open_page(size: str = "phone", **more: Any) -> Any:
        context = browser.new_context(
            viewport=SIZES[size], base_url=server.url, has_touch=size == "phone", **more
        )
        context.set_default_timeout(30_000)
        opened.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(f"script: {error}"))
        page.on("request", lambda request: faults.append(f"elsewhere: {request.url}")
                if not request.url.startswith((server.url, "data:")) else None)  # fmt: skip
        page.on("console", lambda line: faults.append(f"refused by policy: {line.text}")
                if "Content Security Policy" in line.text else None)  # fmt: skip
        return page

    yield open_page
    for context in opened:
        context.close()
    assert faults == []
