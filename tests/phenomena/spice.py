"""Small circuits solved by a separate circuit simulator: netlists written out by hand here.

Nothing of the program's own network is used: values go in as numbers, answers come out as volts
and amperes. A node that nothing holds gets 1 TΩ to ground, since the simulator needs a direct path.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Sequence
from pathlib import Path

HOLD = 1e12


def solve(
    program: str, folder: Path, lines: Sequence[str], asked: Sequence[str], hertz: float
) -> list[float]:
    """Magnitudes of what is ``asked`` ("v(a,b)", "i(vprobe)") at ``hertz``, r.m.s. as the sources.

    ``lines`` are elements; node 0 is true earth. Sources are written ``ac VOLTS DEGREES``.
    """
    deck = folder / "deck.cir"
    prints = [f"print vm({x[2:-1]})" if x.startswith("v(") else f"print mag({x})" for x in asked]
    text = [
        "* by hand",
        *lines,
        ".control",
        "set numdgt=10",
        f"ac lin 1 {hertz} {hertz}",
        *prints,
        ".endc",
        ".end",
    ]
    deck.write_text("\n".join(text) + "\n")
    done = subprocess.run(
        [program, "-b", str(deck)], capture_output=True, text=True, timeout=60, check=False
    )
    found = re.findall(r"^\s*(?:vm|mag)\(.*?\)\s*=\s*([-+0-9.eE]+)", done.stdout, re.MULTILINE)
    if len(found) != len(asked):
        raise RuntimeError(f"asked {asked}, got {done.stdout[-800:]} {done.stderr[-400:]}")
    return [float(x) for x in found]
