"""What the entries of what followed the finding have in common: places, names, texts."""

from __future__ import annotations

from dataclasses import dataclass

from halfsplit.form.cursor import Cursor, nearest
from halfsplit.form.terminals import Site
from halfsplit.form.tree import Node


def text_of(fields: dict[str, Node], key: str) -> str:
    """A field's text with single spaces, "" where it is not given."""
    return " ".join(fields[key].text.split()) if key in fields else ""


@dataclass(slots=True)
class Entry:
    """What the entries of these lists have in common."""

    cursor: Cursor
    site: Site

    def place(self, fields: dict[str, Node], key: str = "at") -> str | None:
        """The place named, "" where none is, None with a problem noted."""
        return self.site.place(fields[key], fields[key].text) if key in fields else ""

    def named(self, node: Node, known: tuple[str, ...], what: str) -> str:
        """One of some names, letter case forgiven; "" with a problem noted."""
        folded = {name.casefold(): name for name in known}
        found = folded.get(" ".join(node.text.split()).casefold(), "")
        if not found:
            near = nearest(node.text, known)
            listed = ", ".join(known[:12]) or "none is stated"
            self.cursor.note(node, f"{what}: {listed}", None,
                             f'did you mean "{near}"?' if near else "")  # fmt: skip
        return found

    def path(self, node: Node) -> str:
        """The bonding or other path named; "" with a problem noted."""
        known = tuple(path.name for path in self.site.installation.paths)
        return self.named(node, known, "a path of this job")
