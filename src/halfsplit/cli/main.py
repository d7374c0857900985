"""The commands. Nothing heavy is imported until a command runs, so that help comes at once."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from halfsplit.bootstrap import prepare
from halfsplit.settings import TRACEBACK_VARIABLE

app = typer.Typer(
    name="halfsplit",
    help="Finds which wire, joint, device or appliance is at fault, and where, from readings "
    "taken on site.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

File = Annotated[str, typer.Argument(metavar="FILE", help='A written form, "-" for standard input')]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of words")]


@app.command()
def diagnose(file: File, as_json: AsJson = False) -> None:
    """What could explain the readings, where it hurts, and what to check next."""
    from halfsplit.cli import commands

    commands.diagnose(file, as_json)


@app.command()
def predict(
    file: File,
    as_json: AsJson = False,
    fault: Annotated[str, typer.Option(help="Id of a fault; see --faults")] = "",
    severity: Annotated[str, typer.Option(help="How bad, by name; see --faults")] = "",
    faults: Annotated[bool, typer.Option("--faults", help="List every fault and its id")] = False,
) -> None:
    """What readings would show: nothing wrong, or with one named fault."""
    from halfsplit.cli import commands

    commands.predict(file, as_json, fault, severity, faults)


@app.command()
def validate(file: File, as_json: AsJson = False) -> None:
    """What a written form was understood to say, and what it leaves unknown."""
    from halfsplit.cli import commands

    commands.validate(file, as_json)


@app.command()
def demo(
    name: Annotated[str, typer.Argument(metavar="[NAME]", help="Which one; see --list")] = "",
    list_: Annotated[bool, typer.Option("--list", help="Name the demos")] = False,
    form: Annotated[bool, typer.Option("--form", help="Print only its written form")] = False,
    as_json: AsJson = False,
) -> None:
    """Work through a made-up fault, from the call to the answer."""
    from halfsplit.cli import commands

    commands.demo(name, list_, form, as_json)


@app.command()
def prove(
    file: File,
    as_json: AsJson = False,
    steps: Annotated[bool, typer.Option("--steps", help="How to make each test, step by step")] = (
        False
    ),
) -> None:
    """Which tests a mend needs, what each should read, and whether it may be energised."""
    from halfsplit.cli import prove as command

    command.prove(file, as_json, steps)


@app.command()
def report(
    file: File,
    output: Annotated[str, typer.Option("-o", "--output", help="A .pdf, .html or .txt file")] = "",
    paper: Annotated[str, typer.Option(help="a4 or letter; the region's own when left out")] = "",
) -> None:
    """The record to hand over: for the customer, and for the next electrician."""
    from halfsplit.cli import report as command

    command.report(file, output, paper)


@app.command()
def verify(
    file: File,
    seal: Annotated[str, typer.Argument(metavar="[SEAL]", help="As printed on the record")] = "",
) -> None:
    """Whether a written form, or a kept job's history, was changed since its record was made."""
    from halfsplit.cli import report as command

    command.verify(file, seal)


@app.command()
def forms() -> None:
    """How to write a form: every key, with examples."""
    from halfsplit.cli import commands

    commands.forms()


Store = Annotated[str, typer.Option(help="File where jobs are kept", envvar="HALFSPLIT_STORE")]


@app.command()
def serve(
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to answer on")] = 8642,
    share: Annotated[bool, typer.Option("--share", help="Let phones on this network join")] = False,
    store: Store = "",
) -> None:
    """The pages, for this machine's browser or a phone that joins."""
    from halfsplit.cli import serve as serving

    serving.serve(port, share, store)


@app.command()
def backup(
    to: Annotated[str, typer.Argument(metavar="FILE", help="A new file for the copy")],
    store: Store = "",
) -> None:
    """Copy all jobs into one file, while the pages run or not."""
    from halfsplit.cli import serve as serving

    serving.copy_out(to, store)


@app.command()
def restore(
    copy: Annotated[str, typer.Argument(metavar="FILE", help="A copy that backup made")],
    store: Store = "",
) -> None:
    """Put a copy of all jobs back; stop the pages first."""
    from halfsplit.cli import serve as serving

    serving.copy_in(copy, store)


def run() -> None:
    """Start the command line. A failure of the program itself ends in a sentence and status 1."""
    settings = prepare()
    try:
        app()
    except Exception as error:
        if settings.traceback:
            raise
        print(
            f"The program itself failed ({type(error).__name__}: {error}). The form is not at "
            f"fault. Keep it; {TRACEBACK_VARIABLE}=1 shows where it failed.",
            file=sys.stderr,
        )
        sys.exit(1)
