"""Problems as data: where, what was read, what is accepted, what to do next.

A check returns every problem it finds, all at once; raising is only a wrapper round the list
(see :class:`halfsplit.errors.BadInput`). Nothing here reads files or knows the trade.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Literal

Severity = Literal["error", "warning"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with what was given, in words a person on site can act on.

    ``where`` names the place in the form ("readings 2, L-E"), ``read`` is the text or value as it
    stood there, ``accepted`` says what would have been taken, ``remedy`` is the next step.
    ``line`` counts from 1. A ``warning`` does not stop the work; an ``error`` does.
    """

    where: str
    read: str
    accepted: str
    remedy: str = ""
    line: int | None = None
    severity: Severity = "error"

    @property
    def is_error(self) -> bool:
        """Whether this problem stops the work."""
        return self.severity == "error"

    def sentence(self) -> str:
        """The problem in plain words: place, what was read, what is accepted, what to do."""
        place = f"line {self.line}, {self.where}" if self.line is not None else self.where
        text = f"{place}: read {shown(self.read)}; accepted: {self.accepted}."
        if self.remedy:
            text += f" {_as_sentence(self.remedy)}"
        return text if self.is_error else f"Warning, {text}"


@dataclass(slots=True)
class Problems:
    """A collector, so that a check can go on after the first problem and report them all."""

    _found: list[Problem] = field(default_factory=list)

    def add(
        self,
        where: str,
        read: object,
        accepted: str,
        remedy: str = "",
        line: int | None = None,
        severity: Severity = "error",
    ) -> None:
        """Note one problem; ``read`` may be any value and is kept as text."""
        self._found.append(Problem(where, str(read), accepted, remedy, line, severity))

    def extend(self, more: Iterable[Problem]) -> None:
        """Note problems found elsewhere, in their order."""
        self._found.extend(more)

    def __iter__(self) -> Iterator[Problem]:
        return iter(self._found)

    def __len__(self) -> int:
        return len(self._found)

    @property
    def errors(self) -> tuple[Problem, ...]:
        """Those that stop the work, in the order found."""
        return tuple(problem for problem in self._found if problem.is_error)

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """Those that do not, in the order found."""
        return tuple(problem for problem in self._found if not problem.is_error)

    def all(self) -> tuple[Problem, ...]:
        """Everything found, in the order found."""
        return tuple(self._found)


def sentences(problems: Iterable[Problem]) -> str:
    """One line for each problem, errors and warnings in their given order."""
    return "\n".join(problem.sentence() for problem in problems)


def shown(read: str, limit: int = 80) -> str:
    """What was read, in quotation marks, shortened when long; "nothing" when empty."""
    if not read.strip():
        return "nothing"
    clipped = read if len(read) <= limit else read[: limit - 1] + "…"
    return f'"{clipped}"'


def _as_sentence(text: str) -> str:
    text = text[0].upper() + text[1:]
    return text if text.endswith((".", "!", "?")) else text + "."
