"""Lengths of cable in the units of the region: metres, in North America feet."""

from __future__ import annotations

from halfsplit.quantity.kinds import FOOT
from halfsplit.report.ladder import length_words
from halfsplit.wiring.model import About, Installation


def run_lengths(installation: Installation) -> dict[str, str]:
    """Every cable's length in words by the name of its run: "8 m", "about 20 ft"."""
    na = installation.region == "na"
    words = feet_words if na else length_words
    return {run.name: words(run.length) for c in installation.circuits for run in c.runs}


def feet_words(length: About) -> str:
    """A length in feet as it is known: "35 ft", "about 20 ft"; "length unknown"."""
    words = length_words(length)
    if not words[-1:].isalpha() or not any(mark.isdigit() for mark in words):
        return words
    feet = length.value / FOOT
    figure = f"{feet:.0f}" if feet >= 10 else f"{feet:.1f}".removesuffix(".0")
    return f"{'about ' if words.startswith('about ') else ''}{figure} ft"
