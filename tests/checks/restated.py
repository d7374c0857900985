"""The rules of safety once more, from what is offered alone: no filter of the product is used.

Each takes what is offered in a state and says what is wrong with it, or nothing. The body current
is that of IEC 60479-1 in the true faulted state, with the instrument as one more element.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from halfsplit.checks.check import Check, Proposal
from halfsplit.checks.costs import KINDS, State
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.survey import survey
from halfsplit.instruments.catalogue import instrument
from halfsplit.instruments.reading import Reading
from halfsplit.tables.shock import LET_GO_PLANNED
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.effects import Bridged, Effect
from halfsplit.wiring.plan import node

LOST = ("supply neutral", "combined conductor")
CALLED = "call the network operator"
LAMP_WATTS = 25.0
GOOD_EARTH = 5.0  # ohms from the board's earth bar to the place, dead
GOOD_INSULATION = 1e6


@dataclass(frozen=True)
class Given:
    """A state of a job: what is wired, what is truly wrong, what was read and done."""

    ready: Prepared
    effects: tuple[Effect, ...]
    readings: tuple[Reading, ...]
    state: State | None
    sources: tuple[str, ...]
    lost_supply: float  # belief in a lost supply neutral or combined conductor


def works_live(check: Check) -> bool:
    """Whether it is done with the circuit energised."""
    return "live" in KINDS[check.kind].needs


def said(one: Proposal) -> str:
    """Steps and cautions as one text."""
    return " ".join((*one.steps, *one.cautions))


def broken(offered: Sequence[Proposal], given: Given) -> list[str]:
    """Every rule that something offered breaks, in words."""
    found = [f"{rule}: {one.check.id}" for one in offered for rule in _each(one, given)]
    return [*found, *_alarm(offered, given), *body(offered, given)]


def _hurt(given: Given) -> bool:
    """Whether shock, heat, smoke, water or something destroyed was reported."""
    return any(
        (r.kind == "touch" and r.seen in ("tingle", "shock"))
        or (r.kind == "sense" and r.seen in ("heat", "smell", "smoke", "scorch", "wet", "spark"))
        or (r.kind == "works" and r.seen == "destroyed")
        for r in given.readings
    )


def _alarm(offered: Sequence[Proposal], given: Given) -> Iterator[str]:
    """Rule 1: after shock, heat, smoke, water: isolate first, and nothing live; no appliance is
    tried anywhere."""
    hurt = _hurt(given)
    if hurt:
        yield from (
            f"1, tried elsewhere: {o.check.id}" for o in offered if o.check.kind == "elsewhere"
        )
    proved = any(r.kind == "proved dead" and r.seen == "dead" for r in given.readings)
    isolated = given.state is not None and given.state.isolated
    if not hurt or proved or isolated or not offered:
        return
    if offered[0].check.kind != "isolate":
        yield "1, isolating is not first"
    for one in offered:
        if works_live(one.check):
            yield f"1, live after an alarm: {one.check.id}"


def _each(one: Proposal, given: Given) -> Iterator[str]:
    check, text = one.check, said(one)
    kind = check.reading.kind if check.reading else ""
    if check.conditions.dead and not ("prove" in text.lower() and "detector" in text):
        yield "2, not proved dead"
    if kind in ("ohms", "megohms") and not check.conditions.dead:
        yield "3, measured live"
    if _opens_live(check) and "nothing else that is allowed" not in text:
        yield "4, live in an opened box without its reason"
    yield from _loads(check, given)
    yield from _parts(check, one)
    yield from _supply(check, text, given)
    if (works_live(check) or check.kind == "elsewhere") and check.circuit in _tripped(given):
        yield "8, closed again after a trip, or tried elsewhere"
    if kind == "megohms":
        yield from _insulates(check, text, given)
    if check.conditions.dead and not all(s in text for s in given.sources):
        yield "11, another source is not isolated"
    if check.conditions.dead and not given.sources and "other sources" not in text:
        yield "11, other sources are not asked about"
    isolated = given.state is not None and given.state.isolated
    if works_live(check) and isolated and "dead tests have passed" not in text:
        yield "12, energised without its tests"


def _opens_live(check: Check) -> bool:
    return works_live(check) and check.access in ("cover", "board")


def _loads(check: Check, given: Given) -> Iterator[str]:
    """Rule 5: nothing that draws current from a line to an earth nobody has measured, dead."""
    draws = bool(check.instrument) and instrument(check.instrument).loads
    draws = draws or check.kind in ("loop", "ramp")
    onto_earth = check.kind in ("loop", "ramp", "lamps") or "E" in check.what.split("-")
    if not (works_live(check) and draws and onto_earth):
        return
    boards = {b.name for b in given.ready.installation.boards}
    ends = {f"{check.where}.E", f"{check.where}.E:front"}
    homes = {f"{b}.E" for b in boards}
    good = any(
        r.kind == "ohms" and r.conditions.dead and r.value is not None and r.value <= GOOD_EARTH
        and r.bound != ">"
        and (({r.a, r.b} & ends and {r.a, r.b} & homes) or _by_link(r, check.where, homes))
        for r in given.readings
    )  # fmt: skip
    if not good:
        yield "5, a load onto an earth that is not proved"


def _by_link(reading: Reading, place: str, homes: set[str]) -> bool:
    """Whether it went out on a conductor linked to earth at the board, and back on earth."""
    here = {reading.a.partition(".")[0], reading.b.partition(".")[0]} == {place}
    linked = any(set(link) & homes for link in reading.conditions.links)
    return here and linked and any(".E" in end for end in (reading.a, reading.b))


def _parts(check: Check, one: Proposal) -> Iterator[str]:
    """Rules 6 and 10: a parted neutral is clamped first; links and cores are open items."""
    steps = " ".join(one.steps)
    if any(" N " in joint for joint in check.conditions.lifted):
        first = steps.find("clamp it, 0 A")
        if first < 0 or first > steps.find("Lift the"):
            yield "6, a neutral parted before it is clamped"
    if check.conditions.links and not 0 <= steps.find("Lift the") < steps.find("Link "):
        yield "10, linked before the line is lifted"
    parted = check.conditions.links or check.conditions.lifted
    if parted and "nothing is energised until it is back" not in said(one):
        yield "10, no open item"


def _supply(check: Check, text: str, given: Given) -> Iterator[str]:
    """Rule 7: sealed equipment stays shut; the earth terminal is not safe without its neutral."""
    points = {p.name: p for p in given.ready.installation.points()}
    sealed = check.where in points and points[check.where].access == "sealed"
    opens = check.access in ("cover", "board") or check.kind in ("open", "remake", "renew")
    if opens and (sealed or check.where in ("origin", "source")):
        yield "7, sealed equipment opened"
    asked = given.state is not None and CALLED in given.state.looked
    if (
        given.lost_supply >= 0.001
        and not asked
        and "operator" not in text
        and "utility" not in text
    ):
        yield "7, the lost neutral is not said"
    if given.lost_supply >= 0.05 and not asked:
        if check.conditions.links:
            yield "7, linked while the supply's neutral may be lost"
        if check.kind in ("open", "remake", "renew"):
            yield "7, handled while the supply's neutral may be lost"


def _tripped(given: Given) -> set[str]:
    """Circuits behind a device that parted at once, whose line was not measured apart since from
    earth and, unless the device feels residual current alone, from neutral."""
    shut: set[str] = set()
    for r in given.readings:
        if r.kind == "trips" and r.seen in ("at once", "trips"):
            for way in given.ready.plan.ways:
                if way.name == r.of:
                    wanted = {"E"} if way.kind == "rcd" else {"N", "E"}
                    shut |= {
                        name for name in {*way.covers, way.circuit} - {""}
                        if not wanted <= _cleared(given, name)
                    }  # fmt: skip
    return shut


def _cleared(given: Given, circuit: str) -> set[str]:
    """What the line at a circuit's way was found insulated from, with nothing parted."""
    found = set()
    for r in given.readings:
        if r.kind == "megohms" and (r.value or 0) >= GOOD_INSULATION and not r.conditions.lifted:
            ends = {r.a.rpartition(".")[2], r.b.rpartition(".")[2]}
            line = {end for end in ends if end == f"L:way {circuit}"}
            found |= {key for key in "NE" if line and key in ends}
    return found


def _insulates(check: Check, text: str, given: Given) -> Iterator[str]:
    """Rule 9: never across connected electronics; what stays in has line and neutral joined."""
    if "Discharge" not in text:
        yield "9, not discharged"
    out = "all" in check.conditions.unplugged
    if not out and not (check.conditions.links and check.instrument == "insulation 250"):
        yield "9, equipment left in"
    across = "E" not in check.what.replace("+", "-").split("-")
    circuits = {p.name: c.name for c in given.ready.installation.circuits for p in c.points}
    fixed = any(
        not load.plugged and load.kind in ("electronics", "led", "fluorescent", "surge protector")
        for p in given.ready.installation.points()
        if circuits[p.name] == check.circuit
        for load in p.loads
    )
    if across and fixed:
        yield "9, across fixed electronics"


def body(offered: Sequence[Proposal], given: Given) -> Iterator[str]:
    """Rule 14: in the true faulted state no check raises what metalwork passes to 5 mA or more;
    after an alarm, when it is off, none brings it to 5 mA again."""
    before: dict[str, float] | None = None
    for one in offered:
        check = one.check
        if not works_live(check):
            continue
        if before is None:
            before = {} if _hurt(given) else touched(given.ready, given.effects, AS_DESCRIBED)
        hung_on = (*given.effects, *hung(check, given.ready))
        for terminal, amps in touched(given.ready, hung_on, check.conditions).items():
            if amps >= max(LET_GO_PLANNED.value, 1.1 * before.get(terminal, 0.0)):
                yield f"14, {amps * 1e3:.1f} mA on {terminal}: {check.id}"


def touched(
    ready: Prepared, effects: tuple[Effect, ...], conditions: Conditions
) -> dict[str, float]:
    """Amperes through a person from each protective conductor and frame to true earth."""
    found = survey(ready, [effects], conditions)
    amps = found.touched()[0]
    return {
        t.node: float(a)
        for t, a in zip(found.terminals, amps, strict=True)
        if (t.frame or t.conductor == "E") and np.isfinite(a)
    }


def hung(check: Check, ready: Prepared) -> tuple[Effect, ...]:
    """An instrument as elements of the circuit; a lamp as 25 W at 230 V, or its supply's volts."""
    if check.reading is None or not check.instrument:
        return ()
    who = instrument(check.instrument)
    if check.kind == "lamps":
        keys = next(s.conductors for s in ready.plan.spots if s.name == check.where)
        line = next(node(check.where, key, "front") for key in keys if key.startswith("L"))
        neutral, earth = (node(check.where, key, "front") for key in ("N", "E"))
        y = 1 / who.r_in
        return (Bridged(line, neutral, y), Bridged(line, earth, y), Bridged(neutral, earth, y))
    if who.duty in ("clamp", "ramp"):
        return ()
    y = LAMP_WATTS / ready.plan.volts**2 if who.law else 1 / who.r_in
    return (Bridged(check.reading.a, check.reading.b, y, who.c_in),)
