"""Names in use, and terminals as people name them, as node names."""

from __future__ import annotations

from dataclasses import dataclass, field

from halfsplit.form.cursor import Cursor
from halfsplit.form.tree import Node

RESERVED = frozenset({"origin", "earth", "rod", "source", "all", "everything", "nothing"})


@dataclass(slots=True)
class Names:
    """Every name given so far: boards, points (with the line each was first given on), runs."""

    boards: dict[str, int] = field(default_factory=dict)
    points: dict[str, int] = field(default_factory=dict)
    runs: set[str] = field(default_factory=set)
    folded: set[str] = field(default_factory=set)
    staged: set[str] = field(default_factory=set)
    legless: int = 0  # circuits so far whose leg nobody knows

    def claim(self, cursor: Cursor, node: Node, name: str) -> bool:
        """Take a name for a point; False with a problem where it is taken or reserved."""
        folded = name.casefold()
        if folded in RESERVED:
            cursor.note(node, "a name other than " + ", ".join(sorted(RESERVED)), name)
        elif name in self.boards:
            cursor.note(node, f"a point's name; {name} is a board", name,
                        "a ring's last length returns to the board by itself")  # fmt: skip
        elif folded in self.folded:
            line = next(k for n, k in self.points.items() if n.casefold() == folded)
            cursor.note(node, f"each point once (first on line {line})", name,
                        "branches leave from a point under branches")  # fmt: skip
        else:
            self.points[name] = node.line
            self.folded.add(folded)
            return True
        return False

    def run(self, name: str) -> str:
        """A run's name, numbered where another run has it already."""
        unique, number = name, 2
        while unique in self.runs:
            unique, number = f"{name} {number}", number + 1
        self.runs.add(unique)
        return unique
