"""The ``report`` and ``verify`` commands: a record handed over, and whether it still holds."""

from __future__ import annotations

from pathlib import Path

from halfsplit.cli import commands, show
from halfsplit.errors import BadInput
from halfsplit.problems import Problem

KINDS = (".pdf", ".html", ".txt")


def report(file: str, output: str, paper: str) -> None:
    """Write a form's record as PDF, page or text, by the ending of ``output``; text when none."""
    from halfsplit import service
    from halfsplit.service import record

    with commands.failures(False):
        kind = Path(output).suffix.casefold() if output else ".txt"
        if kind not in KINDS:
            raise BadInput([Problem("-o", output, "a name that ends in .pdf, .html or .txt")])
        given, name = commands.given_of(file)
        job, _ = service.read(given, name)
        with show.progress("weighing every fault"):
            made = record.make_record(job, record.history_of_form(given))
        if not output:
            print(made.text(show.console().width), end="")
            return
        what = {".pdf": lambda: made.pdf(paper), ".html": lambda: made.whole_page().encode(),
                ".txt": lambda: made.text().encode()}[kind]()  # fmt: skip
        try:
            Path(output).write_bytes(what)
        except OSError as error:
            raise BadInput(
                [Problem("-o", output, "a file that can be written", str(error.strerror or error))]
            ) from error
        print(f"wrote {output}, seal {made.document.seal}")


def verify(file: str, seal: str) -> None:
    """Say whether a form, or a kept job's lines, still carries the seal of its record."""
    from halfsplit.service import record

    with commands.failures(False):
        given, name = commands.given_of(file)
        problems = record.verify_record(given, seal.strip().casefold())
        if problems:
            raise BadInput(problems)
        held = "its own chain holds" if not seal else f"seal {seal[:12]}… holds"
        print(f"{name}: nothing was changed; {held}.")
