"""Walking the tree: fields, texts, numbers and words, noting every problem and going on."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from halfsplit.errors import BadQuantity
from halfsplit.form.shape import aliases, keys_of, required_of
from halfsplit.form.tree import Node
from halfsplit.problems import Problems
from halfsplit.quantity import Quantity
from halfsplit.wiring.history import WORDS as HISTORY_WORDS
from halfsplit.wiring.history import understood
from halfsplit.wiring.model import About

YES = frozenset({"yes", "y", "true", "on", "1"})
NO = frozenset({"no", "n", "false", "off", "0"})
_SPREAD = re.compile(r"(?P<value>.*\S)\s+spread\s+(?P<spread>\d+(?:\.\d*)?(?:[eE][-+]?\d+)?)")
_NAME_LIMIT = 60
_FORBIDDEN = re.compile(r"[.:/–]")


class Cursor:
    """Collects problems while a form is read. ``name`` is the file's name as shown to people."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.problems = Problems()

    def note(
        self, node: Node, accepted: str, read: str | None = None, remedy: str = "", key: str = ""
    ) -> None:
        """Note a problem at a node (or at its field ``key``)."""
        path = f"{node.path}, {key}" if key and node.path else key or node.path
        where = f"column {node.column} of {self.name}" + (f", {path}" if path else "")
        self.problems.add(where, node.shown() if read is None else read, accepted, remedy,
                          node.line)  # fmt: skip

    def fields(
        self, node: Node, section: str, extra: Callable[[str], bool] | None = None
    ) -> dict[str, Node]:
        """The fields of a mapping under their proper names; unknown keys are noted.

        ``extra`` says which keys outside the table are let through (ports, names).
        """
        if node.kind != "map":
            what = ", ".join(keys_of(section)[:6])
            self.note(node, f"a mapping with keys such as {what}")
            return {}
        known = keys_of(section)
        other = aliases(section)
        found: dict[str, Node] = {}
        for key, value in node.pairs:
            folded = key.casefold().replace("_", " ")
            proper = folded if folded in known else other.get(folded)
            if proper is None and extra is not None and extra(key):
                proper = key
            if proper is None:
                self._unknown_key(value, key, (*known, *other))
            elif proper in found:
                self.note(value, f"each key once; {proper} was already given", key)
            else:
                found[proper] = value
        for key in required_of(section):
            if key not in found:
                self.note(node, f"the key {key}", f"no {key}", key=key)
        return found

    def _unknown_key(self, node: Node, key: str, known: Iterable[str]) -> None:
        known = tuple(known)
        near = nearest(key, known)
        self.note(
            node,
            "one of the keys " + ", ".join(known[:14]) + (", …" if len(known) > 14 else ""),
            key,
            f'did you mean "{near}"?' if near else "",
        )

    def text(self, node: Node) -> str | None:
        """A single text, or None with a problem noted."""
        if node.kind != "text":
            self.note(node, "a single text")
            return None
        if not node.text:
            self.note(node, "a text", "")
            return None
        return node.text

    def texts(self, node: Node) -> tuple[Node, ...]:
        """One text or a list of texts, as nodes."""
        if node.kind == "list":
            for item in node.items:
                if item.kind != "text":
                    self.note(item, "a single text")
            return tuple(item for item in node.items if item.kind == "text" and item.text)
        return (node,) if self.text(node) is not None else ()

    def words(self, node: Node) -> tuple[str, ...]:
        """Words as a list or as one text with commas."""
        return tuple(
            part.strip() for item in self.texts(node) for part in item.text.split(",")
            if part.strip()
        )  # fmt: skip

    def history(self, node: Node) -> tuple[str, ...]:
        """What happened, in words; a warning for each that means nothing here."""
        found = tuple(dict.fromkeys(self.words(node)))
        for word in found:
            if not understood(word):
                where = f"column {node.column} of {self.name}, {node.path}"
                self.problems.add(
                    where, word, "what happened, such as " + ", ".join(HISTORY_WORDS),
                    "it is kept as said, and makes no cause likelier", node.line, "warning",
                )  # fmt: skip
        return found

    def name_of(self, node: Node, text: str) -> str | None:
        """A name for a thing: short, without the signs that terminals are written with."""
        name = " ".join(text.split())
        if not name or len(name) > _NAME_LIMIT or _FORBIDDEN.search(name):
            self.note(
                node,
                f"a name of 1 to {_NAME_LIMIT} characters without . : / –",
                name,
                "a plain hyphen or a space will do instead",
            )
            return None
        return name

    def yes(self, node: Node, default: bool) -> bool:
        """Yes or no, however it is written."""
        word = node.text.casefold() if node.kind == "text" else ""
        if word in YES:
            return True
        if word in NO:
            return False
        self.note(node, "yes or no")
        return default

    def choice(self, node: Node, words: Mapping[str, str], default: str) -> str:
        """One of a few words; the mapping gives the meaning of each."""
        word = " ".join(node.text.casefold().split()) if node.kind == "text" else ""
        if word in words:
            return words[word]
        near = nearest(word, words) if word else ""
        self.note(node, listed(words), None, f'did you mean "{near}"?' if near else "")
        return default

    def quantity(
        self, node: Node, parser: Callable[[object], Quantity], text: str | None = None
    ) -> Quantity | None:
        """A number with its unit; None with a problem noted."""
        if node.kind != "text":
            self.note(node, "a number with its unit")
            return None
        try:
            return parser(node.text if text is None else text)
        except BadQuantity as error:
            self.note(node, error.accepted, error.read)
            return None

    def about(
        self,
        node: Node,
        parser: Callable[[object], Quantity],
        unknown: About,
        low: float = 0.0,
        high: float = math.inf,
    ) -> About:
        """A value with how well it is known; unknown stays unknown as a wide prior.

        "6 m spread 0.8" states the log standard deviation itself. Values outside low to high
        (SI, low excluded) are noted as impossible.
        """
        found = self.quantity(node, lambda text: spread_of(text, parser))
        if found is None or found.unknown:
            return unknown
        if not low < found.value <= high:
            most = f" and at most {high:g}" if math.isfinite(high) else ""
            self.note(node, f"a value above {low:g}{most} {found.unit}")
            return unknown
        return About(found.value, found.spread)


def spread_of(text: object, parser: Callable[[object], Quantity]) -> Quantity:
    """A quantity that may state its log spread: "6 m spread 0.8". Raises: BadQuantity."""
    given = _SPREAD.fullmatch(text) if isinstance(text, str) else None
    if given is None:
        return parser(text)
    return replace(parser(given["value"]), spread=float(given["spread"]))


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word most like the one read, or "" when none is near."""
    folded = {item.casefold(): item for item in known}
    near = difflib.get_close_matches(word.casefold(), list(folded), 1, 0.6)
    return folded[near[0]] if near else ""


def listed(words: Iterable[str], limit: int = 12) -> str:
    """Accepted words in a sentence."""
    items = tuple(dict.fromkeys(words))
    text = ", ".join(items[:limit])
    return f"one of {text}" + (", …" if len(items) > limit else "")
