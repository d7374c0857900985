"""Serving the pages, and copies of the store. The pages are loaded by name, never imported."""

from __future__ import annotations

from pathlib import Path
from typing import NoReturn

import typer

from halfsplit.bootstrap import back_up, ready_to_serve, restore, store_place
from halfsplit.errors import HalfsplitError
from halfsplit.settings import Settings

APPLICATION = "halfsplit.web.serve:application"
WRONG = 2


def serve(port: int, share: bool, store: str) -> None:
    """Start the pages and say where they are."""
    try:
        import uvicorn
    except ImportError:
        _stop('the pages need more packages; install them with: pip install "halfsplit[web]"')
    address = f"http://{own_address()}:{port}" if share else ""
    settings = ready_to_serve(store, address)
    if not _free(port):
        _stop(f"read port {port}; it is in use: choose another with --port")
    typer.echo(f"Jobs are kept in {store_place(settings)}")
    typer.echo(f"Open http://127.0.0.1:{port}")
    if share:
        _invite(address, settings.secret)
    else:
        typer.echo("Only this machine is answered; --share lets a phone on the same network join.")
    typer.echo("Stop with Ctrl-C.")
    uvicorn.run(
        APPLICATION, factory=True, host="0.0.0.0" if share else "127.0.0.1", port=port,
        log_level="warning", proxy_headers=False, server_header=False,
    )  # fmt: skip


def _invite(address: str, secret: str) -> None:
    from halfsplit.service.scan import scan_lines

    typer.echo(scan_lines(f"{address}/pair?code={secret}"))
    typer.echo(f"On the phone scan that, or open {address}/pair")
    typer.echo(f"Pairing secret: {secret[:5]} {secret[5:]}")
    typer.echo("What is sent can be read by others on this network: share on one you trust.")


def own_address() -> str:
    """This machine's address on its network; nothing is sent to find it."""
    import socket

    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address for documentation: no packet leaves
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"


def _free(port: int) -> bool:
    import socket

    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            return False
    return True


def copy_out(to: str, store: str) -> None:
    """Copy the store, in use or not, into one file."""
    settings = Settings(store=store)
    try:
        back_up(settings, Path(to))
    except HalfsplitError as error:
        _stop(str(error))
    typer.echo(f"{store_place(settings)} copied to {to}, and the copy checked.")


def copy_in(copy: str, store: str) -> None:
    """Put a copy back; the store that was there is kept beside it."""
    settings = Settings(store=store)
    try:
        restore(settings, Path(copy))
    except HalfsplitError as error:
        _stop(str(error))
    typer.echo(f"{store_place(settings)} now holds {copy}; what was there is kept beside it.")


def _stop(sentence: str) -> NoReturn:
    typer.echo(sentence[:1].upper() + sentence[1:], err=True)
    raise typer.Exit(WRONG)
