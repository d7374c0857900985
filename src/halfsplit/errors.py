"""The one error tree. Every message shows the value read and the next step."""

from __future__ import annotations

from collections.abc import Iterable

from halfsplit.problems import Problem, Problems, sentences


class HalfsplitError(Exception):
    """The root of every error this program raises on purpose."""


class BadInput(HalfsplitError):
    """What was given cannot be used; ``problems`` holds every reason, found all at once."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__(sentences(self.problems) or "the input cannot be used")

    def __reduce__(self) -> tuple[type[BadInput], tuple[tuple[Problem, ...]]]:
        return type(self), (self.problems,)


class BadQuantity(HalfsplitError):
    """A text that is not the quantity asked for. The message shows it, and an example."""

    def __init__(self, read: str, accepted: str) -> None:
        self.read = read
        self.accepted = accepted
        seen = f'"{read}"' if read.strip() else "nothing"
        super().__init__(f"read {seen}; accepted: {accepted}")

    def __reduce__(self) -> tuple[type[BadQuantity], tuple[str, str]]:
        return type(self), (self.read, self.accepted)

    def at(self, where: str, line: int | None = None, remedy: str = "") -> Problem:
        """The same failure as a problem with its place in the form."""
        return Problem(where, self.read, self.accepted, remedy, line)


class NotInTable(HalfsplitError):
    """A published table has no such row. The message lists what it does have."""

    def __init__(self, table: str, asked: object, known: Iterable[object]) -> None:
        self.table = table
        self.asked = asked
        self.known: tuple[str, ...] = tuple(str(item) for item in known)
        listed = ", ".join(self.known) or "nothing yet"
        super().__init__(f"{table}: no row for {asked!s}; the table has {listed}")

    def __reduce__(
        self,
    ) -> tuple[type[NotInTable], tuple[str, object, tuple[str, ...]]]:
        return type(self), (self.table, self.asked, self.known)


class OutOfRange(HalfsplitError):
    """A value outside what a formula or a published curve covers."""


class NotFound(HalfsplitError):
    """Something asked for by name or number does not exist."""


class Conflict(HalfsplitError):
    """Someone else changed the same thing first, or the step is not allowed in this state."""


def raise_if_errors(problems: Problems | Iterable[Problem]) -> None:
    """Raise :class:`BadInput` with every problem if any of them is an error.

    Raises: BadInput, carrying warnings too, so that nothing noted is lost.
    """
    found = tuple(problems)
    if any(problem.is_error for problem in found):
        raise BadInput(found)
