"""The manual's page of faults, made from the catalogue so that it cannot lag behind it."""

from __future__ import annotations

from halfsplit.faults.catalogue import GROUPS, family
from halfsplit.faults.fault import Family
from halfsplit.faults.rates import CALLED, HISTORY, TRIED
from halfsplit.faults.words import in_region, title_words
from halfsplit.wiring.model import Region

_INTRO = f"""# Faults

Every fault the program can suspect, by family. Weights are relative to "nothing wrong" = 1 for the
whole installation, once somebody has called an electrician; most are judgement, and say so. A
second fault at the same time has its weight divided by {CALLED:.0f}. Wherever a reading is asked
for: isolate and prove dead first where you can, and work live only where it is justified and
permitted.
"""


def faults_page() -> str:
    """The page in Markdown: each family's sentence, odds, look-alikes, check and mending."""
    parts = [_INTRO]
    for title, families in GROUPS:
        parts.append(f"## {title}\n")
        parts += [_entry(entry) for entry in families]
    parts.append(_history())
    return "\n".join(parts)


def _entry(entry: Family) -> str:
    alike = ", ".join(
        f"[{t}](#{_anchor(t)})" for t in (title_words(family(id), "uk") for id in entry.lookalikes)
    )
    rows = (
        ("Says", _both(entry.says)),
        ("Why that likely", _both(entry.reason)),
        ("Looks like", alike),
        ("To confirm", _both(entry.confirm)),
        ("Mending", _both(entry.mending)),
    )
    return f"### {title_words(entry, 'uk')}\n\n" + "".join(
        f"- **{head}**: {text}\n" for head, text in rows
    )


def _both(text: str) -> str:
    """British words, with the North American text after them where it differs."""
    british, american = (_blanks(in_region(text, region)) for region in _REGIONS)
    return british if british == american else f"{british} *(North America: {american})*"


_REGIONS: tuple[Region, Region] = ("uk", "na")


def _blanks(text: str) -> str:
    return text.replace("{", "‹").replace("}", "›")


def _anchor(title: str) -> str:
    kept = "".join(c for c in title.lower() if c.isalnum() or c in " -")
    return kept.replace(" ", "-")


def _history() -> str:
    lines = [
        "## What history does to the odds\n",
        "All judgement.\n",
        "| history | multiplies | why |",
    ]
    lines.append("| --- | --- | --- |")
    for row in HISTORY:
        raised = ", ".join(f"{group} × {times:g}" for group, times in row.times)
        lines.append(f"| {row.word} | {raised} | {row.reason} |")
    lines.append(
        f"\nWhat was remade or replaced *without effect*, or mended with the symptom still there, "
        f"keeps {TRIED:g} of its rate: joints, contacts, a device, a cable, an appliance, as said."
    )
    return "\n".join(lines) + "\n"
