"""A reading: a number or an observation, at a port, in conditions, by an instrument.

Kinds and what ``value`` means (SI):

* ``volts``  V between nodes ``a`` and ``b``
* ``ohms``   Ω between ``a`` and ``b``, dead, continuity range
* ``megohms`` Ω (not MΩ) between ``a`` and ``b``, dead, insulation range
* ``loop``   Ω between ``a`` and ``b``, live loop test
* ``amps``   A through the elements named in ``conductors`` together (clamp; sign-weighted sum)
* ``ramp``   A at which the device ``of`` tripped on a ramped residual current
* ``lamps``  a plug tester's pattern: ``seen`` is three characters for its L-N, L-E and N-E lamps,
  "1" lit, "0" dark, "?" not reported
* ``glow``   a lamp or other load ``of`` (or a test lamp between ``a`` and ``b``): ``seen`` one of
  off, glimmer, dim, normal, bright, flicker
* ``works``  what is plugged or fixed at ``of``: ``seen`` one of works, dead, weak
* ``trips``  device ``of``: ``seen`` one of holds, at once, seconds, minutes, trips (when unknown)
* ``touch``  a person between ``a`` and ``b``: ``seen`` one of nothing, tingle, shock
* ``sense``  at place ``of``: ``seen`` one of buzz, heat, smell, scorch, flicker, wet
* ``count``  in the opened box at ``of``: ``seen`` cables, cores (of ``conductors``, or all) or
  loose (a core of ``conductors`` that ends in nothing); ``value`` how many
* ``proved dead``  by a two-pole detector between ``a`` and ``b``: ``seen`` dead or live
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from halfsplit.wiring.conditions import Conditions

Kind = Literal[
    "volts",
    "ohms",
    "megohms",
    "loop",
    "amps",
    "ramp",
    "lamps",
    "glow",
    "works",
    "trips",
    "touch",
    "sense",
    "proved dead",
    "count",
]


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading as taken.

    ``bound`` is "=" for a value, ">" for over range or at least, "<" for at most, "~" for "about"
    or a range; ``spread`` is then the standard deviation of its natural logarithm.
    ``instrument`` is a catalogue id, "" when unknown. ``showing`` says whether the fault was
    showing then (None unknown). ``reversed_plug``-like detail belongs to ``conditions``.
    """

    id: str
    kind: Kind
    a: str = ""
    b: str = ""
    conductors: tuple[str, ...] = ()
    of: str = ""
    value: float | None = None
    bound: Literal["=", ">", "<", "~"] = "="
    spread: float = 0.0
    seen: str = ""
    instrument: str = ""
    conditions: Conditions = field(default_factory=Conditions)
    showing: bool | None = None
    place: str = ""
    text: str = ""
    line: int | None = None
    settled: bool = True  # False: "reading will not settle"
