"""One key of one section of the written form, and how a table of them is written down."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Key:
    """One key of one section: what it takes, an example, and what it says."""

    section: str
    name: str
    takes: str
    example: str
    says: str
    also: tuple[str, ...] = ()
    required: bool = False
    long: bool = False  # longhand: seldom typed by a person


def keys(section: str, *rows: tuple[str, ...]) -> tuple[Key, ...]:
    """Rows of a section: name, what it takes, an example, what it says, and marks.

    Marks are other spellings, ``!`` for a key it cannot do without, ``long`` for longhand.
    """
    made: list[Key] = []
    for name, takes, example, says, *rest in rows:
        marks = rest[0].split(",") if rest else []
        also = tuple(m.strip() for m in marks if m.strip() and m.strip() not in ("!", "long"))
        stripped = [m.strip() for m in marks]
        made.append(Key(section, name, takes, example, says, also, "!" in stripped,
                        "long" in stripped))  # fmt: skip
    return tuple(made)
