"""The manual's page of limits: editions side by side, each figure with its source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from halfsplit.proving import limits
from halfsplit.proving.result import Limit
from halfsplit.proving.rules import NONE_HELD, RULES, Rules
from halfsplit.quantity import ohms
from halfsplit.tables import disconnection as loops
from halfsplit.tables.procedure import CLASSED
from halfsplit.tables.sources import source
from halfsplit.wiring.model import Circuit, Device, Installation, Point, Supply
from halfsplit.wiring.sheet import lines_of

_RATINGS = (6.0, 10.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 63.0)

_INTRO = """\
# Limits, edition by edition

What a result is held against, by the rules of each region. A job names its edition with `edition:`;
without one the first of its region is used, and the record remembers which. Each figure names where
it was read; *from memory* means just that, and wants checking against the print. Where nothing is
held the program says so and never guesses.

Loop limits are for the reading as taken, with the conductors cold. Continuity has no limit of its
own in any of these rules: it is held against what the wiring described would give, from its
lengths, sizes and joints, warmed to 30 °C.
"""


def limits_page() -> str:
    """Every limit by edition as a page."""
    parts = [_INTRO]
    for rules in RULES.values():
        names = ", ".join(f"`{name}`" for name in rules.also)
        parts.append(f"## {rules.title}\n\nRegion `{rules.region}`, edition {names}.\n")
        parts.append(_table(_rows(rules)))
    parts.append(_loops())
    parts.append(_classes())
    return "\n".join(parts)


def classed_words() -> tuple[str, ...]:
    """How sources classed what was seen, for who has to class something like it."""
    return tuple(
        f"{row.what[:1].upper()}{row.what[1:]}: {' or '.join(row.codes)} ({source_of(row.source)})"
        for row in CLASSED
    )


def source_of(id: str) -> str:
    """A source in words, without how it is known."""
    found = source(id)
    return f"{found.title}, {found.edition}" if found.edition else found.title


def _classes() -> str:
    lines = "\n".join(f"- {words}." for words in classed_words())
    return (
        "## What was seen and not mended\n\nThe person on site gives it a class. How others "
        f"classed such things, where they differ as well:\n\n{lines}\n"
    )


def _table(rows: Iterable[tuple[str, str, str]]) -> str:
    lines = ["| test | limit | source |", "| --- | --- | --- |"]
    lines += [f"| {name} | {words} | {source} |" for name, words, source in rows]
    return "\n".join(lines) + "\n"


def _site(rules: Rules, device: Device, earthing: str = "TN-S") -> tuple[Installation, Circuit]:
    volts = {"na": 120.0}.get(rules.region, 230.0)
    base = Supply()
    supply = Supply(earthing, "single", type(base.volts)(volts, 0.0))  # type: ignore[arg-type]
    circuit = Circuit("example", device, (), (Point("example point"),))
    region = rules.region
    return Installation("", region, supply, circuits=(circuit,)), circuit  # type: ignore[arg-type]


def _rows(rules: Rules) -> Iterator[tuple[str, str, str]]:
    residual = Device("example", "rcbo", 32.0, "B", 0.006 if rules.region == "na" else 0.030)
    inst, circuit = _site(rules, residual)
    tt, tt_circuit = _site(rules, residual, "TT")
    nominal = inst.supply.volts.value
    line = lines_of(inst.supply)[0]
    listed: tuple[tuple[str, Limit | None], ...] = (
        ("insulation, up to 50 V (SELV and PELV)", limits.insulation_limit(rules, 50.0, False)),
        ("insulation, mains circuit", limits.insulation_limit(rules, nominal, True)),
        ("insulation, 500 to 1000 V", limits.insulation_limit(rules, 690.0, False)),
        ("loop, TN, B32", limits.loop_limit(rules, inst, circuit)),
        ("loop, TT behind 30 mA", limits.loop_limit(rules, tt, tt_circuit)),
        ("ring, end to end", limits.ring_match_limit(rules)),
        ("trip time at the residual rating", limits.trip_time_limit(rules, residual, 1.0)),
        ("trip time at five times", limits.trip_time_limit(rules, residual, 5.0)),
        ("at half the rating", limits.trip_time_limit(rules, residual, 0.5)),
        ("trip current", limits.trip_current_limit(rules, residual)),
        ("supply voltage", limits.supply_limit(rules, inst, f"{line}-N")),
        ("voltage drop, lighting", limits.drop_limit(rules, True, nominal)),
        ("voltage drop, other", limits.drop_limit(rules, False, nominal)),
    )
    for name, limit in listed:
        yield (name, limit.words, limit.source) if limit else (name, NONE_HELD, "")


def _loops() -> str:
    """Greatest loop impedance with conductors hot, by breaker, editions side by side."""
    editions = tuple(loops.EDITIONS)
    lines = [
        "## Breakers: greatest loop impedance, conductors hot",
        "",
        "By the defining formula U0 x Cmin / (multiplier x rating). Fuses are read from their "
        "tables, by type, rating and time.",
        "",
        "| breaker | " + " | ".join(editions) + " |",
        "| --- |" + " --- |" * len(editions),
    ]
    for curve in ("B", "C", "D"):
        for rating in _RATINGS:
            cells = [ohms(loops.breaker_limit(curve, rating, e)) for e in editions]
            lines.append(f"| {curve}{rating:g} | " + " | ".join(cells) + " |")
    lines += ["", "## Fuses: greatest loop impedance, conductors hot", "",
              "| edition | type | time | by rating |", "| --- | --- | --- | --- |"]  # fmt: skip
    for (edition, kind, time), table in loops.FUSES.items():
        row = ", ".join(f"{rating:g} A {ohms(value)}" for rating, value in table.values.items())
        lines.append(f"| {edition} | {kind} | {time:g} s | {row} |")
    return "\n".join(lines) + "\n"
