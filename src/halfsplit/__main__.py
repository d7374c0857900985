"""``python -m halfsplit``: the same as the ``halfsplit`` command."""

from __future__ import annotations


def run() -> None:
    """Hand over to the command line, loaded only now so that importing stays cheap."""
    from halfsplit.cli.main import run as run_command

    run_command()


if __name__ == "__main__":
    run()
