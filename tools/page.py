"""A generated piece of documentation: where it stands, and what makes it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Page:
    """A whole page, or the part of one between ``<!-- MARK:begin -->`` and ``<!-- MARK:end -->``.

    ``path`` is relative to the root of the project. ``make`` returns the text, the same every time
    for the same code. An empty ``mark`` means the whole file.
    """

    path: str
    make: Callable[[], str]
    mark: str = ""

    def applied_to(self, current: str) -> str:
        """The file's text with this piece made anew.

        Raises: ValueError when the file lacks the two marks, each once and in order.
        """
        made = self.make().strip("\n") + "\n"
        if not self.mark:
            return made
        begin, end = f"<!-- {self.mark}:begin -->", f"<!-- {self.mark}:end -->"
        if current.count(begin) != 1 or current.count(end) != 1:
            raise ValueError(
                f"{self.path} needs {begin} and {end}, once each; found "
                f"{current.count(begin)} and {current.count(end)}"
            )
        before, rest = current.split(begin)
        if end not in rest:
            raise ValueError(f"{self.path} has {end} before {begin}; put them the other way round")
        return f"{before}{begin}\n{made}{end}{rest.split(end)[1]}"
