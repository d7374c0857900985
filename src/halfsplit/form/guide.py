"""The guide to the written form: explained by examples, with its tables generated."""

from __future__ import annotations

from halfsplit.form.appliances import APPLIANCES, Appliance
from halfsplit.form.examples import EXAMPLES
from halfsplit.form.schema import key_tables

__all__ = ["EXAMPLES", "appliance_table", "guide_text"]

_WATTS = """\
A load by its name is taken to be of this kind and to draw about this much, by common practice; a
stated power or kind wins. In North America what is fed from one line draws at most 1440 W, and an
appliance made for two lines takes them where its circuit has them. Class I has an earthed frame.
"""


def appliance_table() -> str:
    """Every named appliance with its kind and usual watts, from the table that reads them."""
    alike: dict[Appliance, list[str]] = {}
    for name, found in APPLIANCES.items():
        alike.setdefault(found, []).append(name)
    lines = ["| names | kind | watts | two lines | frame |", "| --- | --- | --- | --- | --- |"]
    for found, names in alike.items():
        two = f"{found.two_lines:g}" if found.two_lines else ""
        frame = "earthed" if found.framed else "none"
        said = ", ".join(names)
        lines.append(f"| {said} | {found.kind} | {found.watts:g} | {two} | {frame} |")
    return "\n".join(lines) + "\n"


_INTRO = """\
# The written form

A job is written as short lines of text (YAML): what the installation is, what was read and seen.
The same form can be sent as JSON. Nothing you do not know has to be made up: leave it out, or write
`about 6 m`, `5 to 8 m` or `unknown`. Every mistake is named with its line and column, what was read
there and what is accepted, all at once.

Before any test: isolate, lock off, prove dead with a two-pole detector proved before and after, and
ask about other sources. Live work only where nothing else will settle it and you are permitted to
do it; local rules come first. The form records; the person on site decides.

- Text is taken as it stands: `on`, `off`, `yes` and `no` need no quotation marks.
- A text that holds a colon or a comma between brackets does need them: `"5, order unknown"`.
- Numbers carry their unit; where it is plain (lengths in metres, volts between two conductors,
  ohms in `dead` tests, megohms in `insulation` tests) it may be left out. A range (`97 to 104 V`,
  `0.54 ± 0.05 ohm`) is weighed as wide as it is, `about` as a tenth.
- Conductors may be written L, N, E or line, neutral, earth, or hot, neutral, ground.
- The words on your testers will do (`Zs`, `IR`, `R1+R2`, `leakage`), and so will a point's own name
  as a key (`{Hall light: dim}`).
- A point is a socket-outlet unless its kind, or plainly its name, says another.
- Names are yours, but hold no `.`, `:`, `/` or en dash, since terminals are written with those.
"""


def guide_text() -> str:
    """The guide as a page: how to write the form, by examples, and every key."""
    parts = [_INTRO]
    for title, says, text in EXAMPLES:
        parts.append(f"## {title}\n\n{says}\n\n```yaml\n{text}```\n")
    parts.append("## What named appliances draw\n\n" + _WATTS + "\n" + appliance_table())
    parts.append("## Every key\n\n" + key_tables())
    return "\n".join(parts)
