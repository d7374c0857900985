# ruff: noqa: E501 (forms stand as they are typed)
"""A few typed lines, and what the form makes of them."""

from __future__ import annotations

from halfsplit.form import read_job, read_with_problems
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.model import Circuit, Load, Supply

RUN = "circuits: {hall: {run: [Bench, Shelf], plugged in: {Bench: kettle 3 kW, Shelf: [TV, LED 5 W]}}}\n"
METAL = (
    RUN + "other paths: {Shower tray: 'metal to earth, about 2 kΩ', jumper: 'Board E to earth'}\n"
)


def supply(text: str, region: str = "uk") -> Supply:
    """The supply that a text says."""
    return read_job(f"region: {region}\nsupply: {text}\n{RUN}").installation.supply


def circuit(text: str, region: str = "na") -> Circuit:
    """The circuit that its fields say."""
    head = f"region: {region}\nsupply: split phase 120/240 V\n" if region == "na" else ""
    return read_job(f"{head}circuits: {{c: {{{text}}}}}\n").installation.circuits[0]


def load(text: str, region: str = "uk") -> Load:
    """The load that a text says, plugged in."""
    return circuit(f"run: [X], plugged in: {{X: {text}}}", region).points[0].loads[0]


def readings(entry: str, before: str = RUN) -> tuple[Reading, ...]:
    """The readings that one entry makes."""
    return read_job(before + f"readings:\n  - {entry}\n").readings


def reading(entry: str, before: str = RUN) -> Reading:
    """The one reading that an entry makes."""
    (found,) = readings(entry, before)
    return found


def messages(text: str) -> str:
    """Every problem of a form, a sentence each."""
    return "\n".join(p.sentence() for p in read_with_problems(text, "job.yaml")[1])
