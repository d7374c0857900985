"""Text into a tree of marked nodes: every scalar stays the text that was typed.

YAML is used for its layout alone. Nothing is resolved ("on", "off", "no", dates and numbers stay
text), and anchors, aliases and tags are refused, so a small file cannot unfold into a large one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import yaml

from halfsplit.problems import Problem

MAX_CHARACTERS = 400_000
MAX_DEPTH = 16
MAX_NODES = 40_000
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
# ">200 MΩ" is how testers print; YAML would take ">" for a folded block. A private character of
# the same width stands in while the layout is read.
_OVER_SIGN = "\ue000"
_OVER = re.compile(r"(?<=[:,\[\s])>(?==?[ \t]*[\d.])(?!\d[+-]?[ \t]*(?:\n|$))")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff\ud800-\udfff]")


@dataclass(frozen=True, slots=True)
class Node:
    """One node as typed. ``kind`` is text, list or map; ``line`` and ``column`` count from 1.

    ``path`` is the place in the form in words ("readings 2, L-E").
    """

    kind: str
    path: str
    line: int
    column: int
    text: str = ""
    items: tuple[Node, ...] = ()
    pairs: tuple[tuple[str, Node], ...] = ()

    def shown(self) -> str:
        """What was read, in short."""
        if self.kind == "text":
            return self.text
        if self.kind == "list":
            return f"a list of {len(self.items)}"
        keys = ", ".join(key for key, _ in self.pairs[:3])
        return f"a mapping with {keys}" if keys else "an empty mapping"


def decode(given: str | bytes) -> str:
    """The characters of a file; UTF-8 with or without a mark. Raises: ValueError otherwise."""
    text = given.decode("utf-8-sig") if isinstance(given, bytes) else given.removeprefix("\ufeff")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def parse(given: str | bytes, name: str) -> tuple[Node | None, list[Problem]]:
    """The tree of one file and what is wrong with its layout; None when it cannot be read."""
    if len(given) > MAX_CHARACTERS:
        return None, [
            _problem(name, "", f"{len(given):,} characters",
                     f"a written form of at most {MAX_CHARACTERS:,} characters",
                     "check that this is the right file")
        ]  # fmt: skip
    try:
        text = decode(given)
    except UnicodeDecodeError as error:
        return None, [
            _problem(name, "", f"bytes that are not text (byte {error.start + 1})",
                     "plain text in UTF-8", "save the file as UTF-8 text")
        ]  # fmt: skip
    if (control := _CONTROL.search(text)) is not None:
        line = text.count("\n", 0, control.start()) + 1
        return None, [
            _problem(name, "", f"a control character (code {ord(control.group())})",
                     "plain text", "check that this is the right file", line)
        ]  # fmt: skip
    return _Builder(name, text).build()


def _problem(
    name: str, path: str, read: str, accepted: str, remedy: str = "", line: int | None = None,
    column: int | None = None,
) -> Problem:  # fmt: skip
    place = f"column {column} of {name}" if column else name
    return Problem(f"{place}, {path}" if path else place, read, accepted, remedy, line)


class _Builder:
    """Builds nodes from layout events, by its own stack, so that depth is ours to limit."""

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        self.text = text
        self.problems: list[Problem] = []
        self.count = 0

    def build(self) -> tuple[Node | None, list[Problem]]:
        events = iter(yaml.parse(_OVER.sub(_OVER_SIGN, self.text), Loader=_LOADER))
        root: Node | None = None
        try:
            for event in events:
                if isinstance(event, yaml.DocumentStartEvent):
                    if root is not None:
                        self._note(event, "", "a second document (---)", "one job in one file")
                        return None, self.problems
                elif isinstance(event, yaml.NodeEvent):
                    root = self._node(event, events, "", 1)
        except yaml.YAMLError as error:
            self.problems.append(self._layout(error))
            return None, self.problems
        except _Refused:
            return None, self.problems
        if root is None:
            self.problems.append(
                _problem(self.name, "", "", 'a job, beginning with "title:"',
                         "start with title, supply, circuits and readings")
            )  # fmt: skip
        return root, self.problems

    def _node(self, event: yaml.Event, events: Iterator[yaml.Event], path: str, depth: int) -> Node:
        self.count += 1
        self._refuse_tricks(event, path, depth)
        line, column = _at(event)
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[Node] = []
            while not isinstance(inner := next(events), yaml.SequenceEndEvent):
                at = f"{path} {len(items) + 1}" if path else f"item {len(items) + 1}"
                items.append(self._node(inner, events, at, depth + 1))
            return Node("list", path, line, column, items=tuple(items))
        if isinstance(event, yaml.MappingStartEvent):
            return Node("map", path, line, column, pairs=self._pairs(events, path, depth))
        text = event.value.replace(_OVER_SIGN, ">") if isinstance(event, yaml.ScalarEvent) else ""
        if getattr(event, "style", None) in (None, "") and text in ("~", "null", "Null", "NULL"):
            text = ""
        return Node("text", path, line, column, text=text.strip())

    def _pairs(
        self, events: Iterator[yaml.Event], path: str, depth: int
    ) -> tuple[tuple[str, Node], ...]:
        pairs: dict[str, Node] = {}
        while not isinstance(inner := next(events), yaml.MappingEndEvent):
            if not isinstance(inner, yaml.ScalarEvent):
                self._note(inner, path, "a list or mapping as a key", "a plain word as a key")
                raise _Refused
            self._refuse_tricks(inner, path, depth)
            key = " ".join(inner.value.replace(_OVER_SIGN, ">").split())
            where = f"{path}, {key}" if path else key
            value = self._node(next(events), events, where, depth + 1)
            if key in pairs:
                self._note(inner, where, key, f"each key once (first on line {pairs[key].line})",
                           "join the two, or rename one")  # fmt: skip
            elif not key:
                self._note(inner, path, "", "a name before the colon")
            else:
                pairs[key] = value
        return tuple(pairs.items())

    def _refuse_tricks(self, event: yaml.Event, path: str, depth: int) -> None:
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            sign = "*" if isinstance(event, yaml.AliasEvent) else "&"
            self._note(event, path, f"{sign}{getattr(event, 'anchor', '')}",
                       "text written out in full, without & and *",
                       "put quotes round it if the sign is meant")  # fmt: skip
            raise _Refused
        if getattr(event, "tag", None) not in (None, "!"):
            self._note(event, path, str(getattr(event, "tag", "")),
                       "plain text without ! in front", "put quotes round it")  # fmt: skip
            raise _Refused
        if depth > MAX_DEPTH:
            self._note(event, _shorten(path), f"{depth} levels inside each other",
                       f"at most {MAX_DEPTH} levels")  # fmt: skip
            raise _Refused
        if self.count > MAX_NODES:
            self._note(event, _shorten(path), f"more than {MAX_NODES:,} entries",
                       f"at most {MAX_NODES:,} entries")  # fmt: skip
            raise _Refused

    def _note(
        self, event: yaml.Event, path: str, read: str, accepted: str, remedy: str = ""
    ) -> None:
        line, column = _at(event)
        self.problems.append(_problem(self.name, path, read, accepted, remedy, line, column))

    def _layout(self, error: yaml.YAMLError) -> Problem:
        """A broken layout, in words that look at the line rather than at the parser."""
        mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
        lines = self.text.split("\n")
        number = min(mark.line if mark else 0, len(lines) - 1)
        while number > 0 and not lines[number].strip():
            number -= 1
        line = lines[number]
        column = mark.column + 1 if mark and number == mark.line else None
        accepted, remedy = _advice(line)
        return _problem(self.name, "layout", line.strip(), accepted, remedy, number + 1, column)


def _at(event: yaml.Event) -> tuple[int, int]:
    """Line and column of an event, counted from 1."""
    mark = event.start_mark
    return (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)


class _Refused(Exception):
    """Stops the reading at once; the reason is already noted."""


def _shorten(path: str) -> str:
    return path if len(path) <= 120 else path[:119] + "…"


def _advice(line: str) -> tuple[str, str]:
    indent = line[: len(line) - len(line.lstrip())]
    if "\t" in indent or "\t" in line:
        return "spaces before and between words", "replace the tab by spaces"
    for opening, closing in ("[]", "{}"):
        if line.count(opening) != line.count(closing):
            return f"brackets in pairs, {opening} … {closing}", f"add the missing {closing}" if (
                line.count(opening) > line.count(closing)
            ) else f"take the extra {closing} away"
    if line.count('"') % 2:
        return 'quotation marks in pairs, "…"', "close the quotation mark"
    if re.search(r"(^|[\s\[{,])[@`%&*!|]", line):
        return "a plain word, or one in quotation marks", "put quotes round it"
    if line.count(": ") > 1 and "{" not in line:
        return "one key and one value on a line", "put quotes round a text that holds a colon"
    return (
        'lines such as "key: value", further in by two spaces for what belongs to them',
        "look at the indentation of this line and the one before it",
    )
