"""A server of the pages for tests: on a store of its own, on a free port of this machine."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn
from fastapi.testclient import TestClient

from halfsplit.store.shelf import Shelf, open_shelf
from halfsplit.web.app import make_app
from halfsplit.web.guard import Sharing

HERE = "http://127.0.0.1"
BOAT_SHED = """title: Boat shed, east wall
region: uk
supply: TN-S 230 V
circuits:
  east wall:
    device: B16
    cable: 2.5/1.5 twin and earth
    run: [8 m, Tool bench, 4 m, Charger shelf, 5 m, Sail loft, 3 m, Radio desk, 6 m, Slip winch]
    plugged in: {Radio desk: electronics, Charger shelf: [60 W, electronics]}
"""
READINGS = """readings:
  - {at: Tool bench, L-E: 236, N-E: 0.8}
  - {at: Sail loft, L-E: 121, N-E: 114, works: yes}
"""


@contextmanager
def desk(path: Path, sharing: Sharing | None = None) -> Iterator[tuple[TestClient, Shelf]]:
    """The application without a browser: a client that speaks to it directly."""
    shelf = open_shelf(path / "jobs.sqlite")
    app = make_app(shelf, shelf.devices, sharing)
    with TestClient(app, base_url=HERE, follow_redirects=False) as client:
        yield client, shelf
    shelf.close()


class Server:
    """The application on a port; it can be stopped and started on the same port and store."""

    def __init__(self, path: Path) -> None:
        self.path = path
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])
        self.url = f"{HERE}:{self.port}"

    def start(self) -> None:
        """Answer from now on."""
        self.shelf = open_shelf(self.path / "jobs.sqlite")
        app = make_app(self.shelf, self.shelf.devices)
        config = uvicorn.Config(
            app, port=self.port, log_level="error", timeout_graceful_shutdown=1, ws="none"
        )
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        for _ in range(200):
            if self.server.started:
                return
            time.sleep(0.02)
        raise TimeoutError("the pages did not start within 4 s")

    def stop(self) -> None:
        """Answer no more; what was acknowledged is in the store."""
        self.server.should_exit = True
        self.server.force_exit = True
        self.thread.join(5)
        self.shelf.close()


def open_form(client: TestClient, text: str = BOAT_SHED + READINGS) -> str:
    """A job from a written form; its id."""
    answer = client.post("/api/jobs", json={"form": text})
    assert answer.status_code == 201, answer.text
    return str(answer.json()["id"])
