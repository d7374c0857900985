"""The commands that start the pages and keep copies."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.request import urlopen

import pytest

COMMAND = (sys.executable, "-m", "halfsplit")


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def answered(url: str) -> str:
    for _ in range(300):
        try:
            with urlopen(url, timeout=2) as answer:
                return str(answer.read().decode())
        except OSError:
            time.sleep(0.1)
    raise TimeoutError(url)


@pytest.mark.parametrize("share", [False, True])
def test_serve_starts_everything(tmp_path: Path, share: bool) -> None:
    """One command makes the store, says the address and, when shared, the code and the secret."""
    port, store = free_port(), tmp_path / "new" / "jobs.sqlite"
    options = ["--port", str(port), "--store", str(store), *(["--share"] if share else [])]
    process = subprocess.Popen([*COMMAND, "serve", *options], stdout=subprocess.PIPE, text=True)
    try:
        assert "No jobs yet" in answered(f"http://127.0.0.1:{port}/")
        assert store.exists()
    finally:
        process.terminate()
        said, _ = process.communicate(timeout=10)
    assert f"http://127.0.0.1:{port}" in said
    assert bool(re.search(r"Pairing secret: \w{5} \w{5}", said)) is share
    assert ("▀" in said) is share
    assert ("Only this machine is answered" in said) is not share


def test_a_port_in_use_is_said(tmp_path: Path) -> None:
    """A port that something else answers on is named, with the remedy, and status 2."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        options = ["--port", str(port), "--store", str(tmp_path / "jobs.sqlite")]
        done = subprocess.run([*COMMAND, "serve", *options], capture_output=True, text=True)
    assert done.returncode == 2
    assert f"port {port}; it is in use: choose another with --port" in done.stderr


def test_copies_by_one_command_each(tmp_path: Path) -> None:
    """Backup and restore each say what they did; a missing file is a sentence and status 2."""
    from halfsplit.service import jobs
    from halfsplit.store.shelf import open_shelf

    store, copy = tmp_path / "jobs.sqlite", tmp_path / "copy.sqlite"
    shelf = open_shelf(store)
    job = jobs.open_job(shelf, {"title": "Mill"}, {}, "Ada", "2026-03-01T09:00:00+00:00")
    shelf.close()
    where = ["--store", str(store)]
    made = subprocess.run([*COMMAND, "backup", str(copy), *where], capture_output=True, text=True)
    assert made.returncode == 0
    assert "and the copy checked" in made.stdout
    store.unlink()
    back = subprocess.run([*COMMAND, "restore", str(copy), *where], capture_output=True, text=True)
    assert back.returncode == 0, back.stderr
    shelf = open_shelf(store)
    assert shelf.card(job).title == "Mill"
    shelf.close()
    lost = subprocess.run(
        [*COMMAND, "restore", str(tmp_path / "no"), *where], capture_output=True, text=True
    )
    assert lost.returncode == 2
    assert "is not there" in lost.stderr
    assert "Traceback" not in lost.stderr
