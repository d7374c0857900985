"""What each command does: read, ask service, show. Mistakes end in sentences and status 2."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import typer

from halfsplit import service
from halfsplit.cli import show
from halfsplit.errors import BadInput, HalfsplitError
from halfsplit.problems import Problem

if TYPE_CHECKING:
    from halfsplit.service import Job

WRONG = 2


def diagnose(file: str, as_json: bool) -> None:
    """The ``diagnose`` command."""
    with failures(as_json):
        job, warnings = job_of(file)
        with show.progress("weighing every fault"):
            answer = service.ask(job, warnings)
    if as_json:
        print_json(service.as_object(answer))
    else:
        show.answer(answer)


def predict(file: str, as_json: bool, fault: str, severity: str, faults: bool) -> None:
    """The ``predict`` command."""
    with failures(as_json):
        job, _ = job_of(file)
        if faults:
            listed = service.fault_list(job)
            if as_json:
                print_json(service.fault_list_object(listed))
            else:
                show.faults(listed)
            return
        with show.progress("solving"):
            found = service.predict(job, fault, severity)
    if as_json:
        print_json(service.prediction_object(found))
    else:
        show.prediction(found)


def validate(file: str, as_json: bool) -> None:
    """The ``validate`` command."""
    with failures(as_json):
        given, name = given_of(file)
        job, warnings = service.read(given, name)
        found = service.understand(job, warnings, given)
    if as_json:
        print_json(service.understood_object(found))
    else:
        show.understood(found)


def demo(name: str, listing: bool, form: bool, as_json: bool) -> None:
    """The ``demo`` command."""
    with failures(as_json):
        every = service.demos()
        if listing:
            show.demo_list(every)
            return
        chosen = service.demo(name) if name else every[0]
        if form:
            print(chosen.form, end="")
            return
        job, warnings = service.read(chosen.form, chosen.file)
        with show.progress("weighing every fault"):
            answer = service.ask(job, warnings)
    if as_json:
        print_json(service.as_object(answer))
    else:
        show.demo(chosen, answer, every)


def forms() -> None:
    """The ``forms`` command."""
    show.paged(service.form_guide())


def job_of(file: str) -> tuple[Job, tuple[Problem, ...]]:
    """The job of a file or standard input, with its warnings. Raises: BadInput."""
    return service.read(*given_of(file))


def given_of(file: str) -> tuple[bytes, str]:
    """What a file or standard input holds, and its name for messages."""
    name = "standard input" if file == "-" else Path(file).name
    try:
        given = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
    except FileNotFoundError:
        raise _unreadable(file, "no such file") from None
    except IsADirectoryError:
        raise _unreadable(file, "a folder") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _unreadable(file, f"a file that cannot be opened ({reason})") from None
    return given, name


def _unreadable(file: str, read: str) -> BadInput:
    return BadInput(
        [
            Problem(
                file or "the file's name",
                read,
                'a written form, or "-" for standard input',
                'Try "halfsplit demo --form" for one to start from.',
            )
        ]
    )


@contextmanager
def failures(as_json: bool) -> Iterator[None]:
    """Turn every failure of ours into sentences on standard error and exit status 2."""
    try:
        yield
    except BadInput as error:
        if as_json:
            print_json(service.problems_object(error.problems))
        _stop(str(error))
    except HalfsplitError as error:
        _stop(str(error))


def _stop(message: str) -> NoReturn:
    print(message, file=sys.stderr)
    raise typer.Exit(WRONG)


def print_json(found: Any) -> None:
    """One object on standard output."""
    print(json.dumps(found, ensure_ascii=False, indent=2, allow_nan=False))
