"""A load in a few words: what it is, its power, and whether it is in and on."""

from __future__ import annotations

import re

from halfsplit.quantity import watts
from halfsplit.wiring.model import Load


def load_words(load: Load) -> str:
    """A load as one would say it: "kettle 3 kW", "electronics", "winch 1.5 kW (off)"."""
    named = bool(re.search(r"\d\s*k?W$", load.name))
    told = load.name
    if not named and load.watts.spread <= 0.2:
        told = f"{load.name} {watts(load.watts.value)}"
    if not load.connected:
        return f"{told} (unplugged)"
    return told if load.on else f"{told} (off)"
