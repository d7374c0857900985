"""Where nobody knows a point's circuit, the order of points, a leg or a rating: ways it may be.

Each stands for many: of the orders of n points, those in which k given points come last are one in
C(n, k). A way is diagnosed like any installation, and what they say is weighed together, causes
matched by a name that claims no order: the joint that feeds a point, not the cable from another.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.evidence import COMPLAINT
from halfsplit.diagnosis.homes import homes, unsure_runs
from halfsplit.diagnosis.weigh import Weighed
from halfsplit.faults.fault import Fault
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.model import Circuit, Installation, Run

AS_LISTED = 0.25  # people list points much as they are fed: judgement
MOST_ORDERS = 4  # beside the one that is listed
MOST_WAYS = 8  # beside the one described, the likeliest first
FAR_OFF = 4.0  # sigma from the sound circuit's figure at which a place counts as affected
RATED = {1.0: 0.5, 2 / 3: 0.25, 1.5: 0.25}  # of a usual rating that nobody read: judgement
_TOO_MUCH = ("bright", "destroyed")
_LOOKED = ("works", "glow", "lamps", "volts")


@dataclass(frozen=True, slots=True)
class Way:
    """One way it may be, with its share of belief before any reading."""

    installation: Installation
    share: float


def ways(bench: Bench, weighed: Weighed) -> tuple[Way, ...]:
    """The installation as described, then others it may be; alone where all is known.

    The shares add to 1. Which orders are worth their time follows from the places that are
    affected: those of a fault come after it.
    """
    said = _said(bench.readings)
    wired = [
        one for k, one in enumerate(homes(bench.installation))
        if k == 0 or not _lost(bench.installation, one, said)
    ]  # fmt: skip
    seen = affected(bench, weighed)
    found = [
        Way(way.installation, way.share / len(wired))
        for one in wired for way in _arranged(one, seen, bench.readings)
    ]  # fmt: skip
    kept = found[:1] + sorted(found[1:], key=lambda way: -way.share)[:MOST_WAYS]
    whole = sum(way.share for way in kept)
    return tuple(Way(way.installation, way.share / whole) for way in kept)


def _arranged(
    installation: Installation, seen: Affected, readings: Sequence[Reading]
) -> tuple[Way, ...]:
    """The ways one wiring may be: by the order of its points, and by its legs or ratings."""
    said, (drawn, *others) = _said(readings), _guessed(installation, seen, readings)
    for circuit in installation.circuits:
        movable = unordered(circuit)
        mine = [p for p in movable if p in seen.bad]
        if len(movable) > 1 and mine and not any(run.name in said for run in circuit.runs):
            well = [p for p in movable if p in seen.good]
            found = _merged(installation, circuit, _orders(movable, mine, well, readings))
            return (*(replace(w, share=w.share * drawn.share) for w in found), *others)
    return (drawn, *others)


def _said(readings: Sequence[Reading]) -> str:
    """All that readings name: whoever names a cable between two points knows the order."""
    return " ".join(f"{r.a} {r.b} {r.of} {r.conductors} {r.conditions.key()}" for r in readings)


def _lost(installation: Installation, other: Installation, said: str) -> bool:
    """Whether readings name a cable that is not there in another wiring."""
    there = {run.name for circuit in other.circuits for run in circuit.runs}
    runs = (run.name for circuit in installation.circuits for run in circuit.runs)
    return any(name in said and name not in there for name in runs)


class Affected(NamedTuple):
    """Places at which something is not as in the sound circuit, where all is, and too much is."""

    bad: frozenset[str]
    good: frozenset[str]
    high: frozenset[str]  # of the bad: too bright, destroyed, too many volts


def affected(bench: Bench, weighed: Weighed) -> Affected:
    """The places that readings speak of, by whether the sound circuit would read so."""
    row = int((weighed.rows == 0).argmax())
    bad, seen, high = set(), set(), set()
    for c, k in enumerate(weighed.sights):
        reading = bench.questions[k].reading
        if reading.kind in _LOOKED and reading.showing is not False:
            place = (reading.of or reading.place).partition("/")[0]
            seen.add(place)
            bad |= {place} if weighed.seen[row, c] < COMPLAINT else set()
            high |= {place} if reading.seen in _TOO_MUCH else set()
    for c, k in enumerate(weighed.figures):
        reading = bench.questions[k].reading
        if reading.kind == "volts" and reading.showing is not False:
            seen.add(reading.place)
            off = float(reading.value or 0.0) - float(weighed.mean[row, c])
            far = FAR_OFF * float(weighed.noise[row, c])
            bad |= {reading.place} if abs(off) > far else set()
            high |= {reading.place} if off > far else set()
    return Affected(frozenset(bad), frozenset(seen - bad), frozenset(high & bad))


def unordered(circuit: Circuit) -> tuple[str, ...]:
    """The points of a plain chain that may change places, in the order listed; none if known."""
    if circuit.order_known or not _chain(circuit):
        return ()
    conductors = {p.name: p.conductors for p in circuit.points}
    kinds: dict[tuple[object, ...], list[str]] = {}
    for run, after in zip(circuit.runs, (*circuit.runs[1:], None), strict=True):
        cores = tuple((c.start, c.end) for c in run.cores)
        onward = cores if after is None else tuple((c.start, c.end) for c in after.cores)
        kinds.setdefault((conductors[run.end], cores, onward), []).append(run.end)
    movable = max(kinds.values(), key=len)
    known = movable[:1] if circuit.first_known else []
    return tuple(p for p in movable if p not in known)


def _chain(circuit: Circuit) -> bool:
    """Whether every run goes on from the point before it, and none comes back."""
    ends = [run.end for run in circuit.runs]
    starts = [run.start for run in circuit.runs]
    return (
        len(ends) > 1
        and len(set(ends)) == len(ends)
        and {p.name for p in circuit.points} == set(ends)
        and starts[1:] == ends[:-1]
        and starts[0] not in ends
    )


def _orders(
    movable: tuple[str, ...], bad: list[str], good: list[str], readings: Sequence[Reading]
) -> Iterator[tuple[tuple[str, ...], float]]:
    """Orders of the movable points with their shares, the listed one first."""
    between = [p for p in movable if p not in bad and p not in good]
    last = 1.0 / math.comb(len(bad) + len(good), len(bad))
    listed_last = _last(movable, bad, good)
    rest = (1 - AS_LISTED) * (1 - last)
    yield movable, AS_LISTED + (0.0 if listed_last else rest)
    if listed_last and rest:
        yield (*bad, *between, *good), rest
    ends = {r.of for r in readings if r.seen == "cables" and r.value == 1}
    felt = {r.of for r in readings if r.kind == "sense"}
    bad, good = _foremost(bad, felt), _foremost(good, felt)
    count = min(MOST_ORDERS, max(len(bad), len(good)))
    for k in range(count):
        first, before = bad[k % len(bad)], good[k % len(good)] if good else ""
        order = [p for p in good if p != before] + ([before] if before else []) + between
        order += [first] + [p for p in bad if p != first]
        yield tuple(sorted(order, key=lambda p: p in ends)), (1 - AS_LISTED) * last / count


def _last(order: Sequence[str], bad: Sequence[str], good: Sequence[str]) -> bool:
    """Whether all that is affected comes after all that is not."""
    at = {p: k for k, p in enumerate(order)}
    return not good or max(at[p] for p in good) < min(at[p] for p in bad)


def _foremost(places: list[str], felt: set[str]) -> list[str]:
    return sorted(places, key=lambda p: p not in felt)


def _merged(
    installation: Installation,
    circuit: Circuit,
    found: Iterator[tuple[tuple[str, ...], float]],
) -> tuple[Way, ...]:
    shares: dict[tuple[str, ...], float] = {}
    for order, share in found:
        shares[order] = shares.get(order, 0.0) + share
    movable = unordered(circuit)
    return tuple(
        Way(installation.with_circuit(reordered(circuit, movable, order)), share)
        for order, share in shares.items()
    )


def reordered(circuit: Circuit, movable: Sequence[str], order: Sequence[str]) -> Circuit:
    """The same circuit with ``order`` in the places of the chain where ``movable`` stand."""
    if tuple(order) == tuple(movable):
        return circuit
    put = dict(zip(movable, order, strict=True))
    runs = []
    for run in circuit.runs:
        start, end = put.get(run.start, run.start), put.get(run.end, run.end)
        usual = run.name == f"{run.start}–{run.end}"
        runs.append(
            replace(run, name=f"{start}–{end}" if usual else run.name, start=start, end=end)
        )
    points = {p.name: p for p in circuit.points}
    return replace(circuit, runs=tuple(runs), points=tuple(points[run.end] for run in runs))


def _guessed(
    installation: Installation, seen: Affected, readings: Sequence[Reading]
) -> tuple[Way, ...]:
    """Circuits whose leg or rating nobody knows: each on the other leg, larger or smaller."""
    split = installation.supply.live == "split"
    unsure = [c for c in installation.circuits if split and not c.leg_known]
    free = not _named_legs(installation, readings)
    if len(unsure) > 2 and (parted := _parted(installation, unsure, seen, free)):
        return parted
    unsure = unsure[1:] if free else unsure
    sets = [[c] for c in unsure] + ([unsure] if len(unsure) > 1 else [])
    found = [_put(installation, [_crossed_over(c) for c in some]) for some in [[], *sets]]
    if found[1:] or not any(r.kind == "trips" for r in readings):
        return tuple(Way(one, 1 / len(found)) for one in found[: MOST_ORDERS + 1])
    rated = [c for c in installation.circuits if not c.rating_known]
    shares = RATED if rated else {1.0: 1.0}
    return tuple(
        Way(_put(installation, [_rated(c, times) for c in rated]), share)
        for times, share in shares.items()
    )


def _named_legs(installation: Installation, readings: Sequence[Reading]) -> bool:
    """Whether anything tells one leg from the other: else which is called L1 is nobody's guess."""
    single = (c for c in installation.circuits if len(c.legs) == 1)
    return any(c.leg_known for c in single) or ".L1" in (said := _said(readings)) or ".L2" in said


def _parted(
    installation: Installation, unsure: Sequence[Circuit], seen: Affected, free: bool
) -> tuple[Way, ...]:
    """Of many legs that nobody knows, those that put all that goes one way on one leg.

    What has too much, and what has too little, each against all else that something is known of;
    of n such circuits each wiring is one in 2^n, or one in 2^(n-1) where the legs are ``free`` to
    be called either.
    """
    spoken = [c for c in unsure if {p.name for p in c.points} & (seen.bad | seen.good)]
    share = 0.5 ** (len(spoken) - free)
    found: dict[Installation, float] = {}
    for places in (seen.high, seen.bad - seen.high):
        apart = [c for c in spoken if {p.name for p in c.points} & places]
        for leg, other in (("L1", "L2"), ("L2", "L1")) if 0 < len(apart) < len(spoken) else ():
            on = [_on(c, leg if c in apart else other) for c in spoken]
            if not free or on[0] == spoken[0]:
                found[_put(installation, on)] = share
    if not found:
        return ()
    # One wiring stands for all the rest: the one drawn, or one circuit away from it.
    near = (_put(installation, [_crossed_over(c)]) for c in spoken)
    rest = next((way for way in (installation, *near) if way not in found), installation)
    found[rest] = 1 - share * len(found.keys() - {rest})
    return tuple(Way(way, found[way]) for way in dict.fromkeys((installation, *found)))


def _on(circuit: Circuit, leg: str) -> Circuit:
    return replace(circuit, legs=tuple((key, leg) for key, _ in circuit.legs))


def _put(installation: Installation, circuits: Sequence[Circuit]) -> Installation:
    for circuit in circuits:
        installation = installation.with_circuit(circuit)
    return installation


def _crossed_over(circuit: Circuit) -> Circuit:
    other = {"L1": "L2", "L2": "L1"}
    return replace(circuit, legs=tuple((key, other[bar]) for key, bar in circuit.legs))


def _rated(circuit: Circuit, times: float) -> Circuit:
    amps = circuit.device.amps * times
    return circuit if times == 1.0 else replace(circuit, device=replace(circuit.device, amps=amps))


def plain_name(fault: Fault, installation: Installation) -> str:
    """A fault's id without the order it was found in: a cable is known by the point it feeds."""
    name, onward = fault.id, f"onward {fault.circuit}"
    for run in _unordered_runs(installation):
        if run.name not in name:
            continue
        if fault.places == (run.start,):
            name = name.replace(run.name, onward)
        leaving = rf"(joint {re.escape(run.start)} \S+ ){re.escape(run.name)}"
        name = re.sub(leaving, lambda m: m[1] + onward, name).replace(run.name, f"to {run.end}")
    return name


def claimed(fault: Fault, installation: Installation) -> tuple[str, ...]:
    """The places of a fault, without the point from which a cable comes where nobody knows it."""
    unsaid = {
        run.start
        for run in _unordered_runs(installation)
        if {run.start, run.end} <= {*fault.places}
    }
    return tuple(p for p in fault.places if p not in unsaid) or fault.places


def role(fault: Fault, installation: Installation) -> tuple[object, ...]:
    """What a fault does to an unordered chain: its kind, and the points beyond it as a set."""
    for circuit in _chains(installation):
        for k, run in enumerate(circuit.runs):
            if fault.circuit == circuit.name and dict(fault.detail).get("run") == run.name:
                beyond = frozenset(later.end for later in circuit.runs[k:])
                return fault.family, fault.conductors, beyond
    return (plain_name(fault, installation),)


def _chains(installation: Installation) -> tuple[Circuit, ...]:
    return tuple(c for c in installation.circuits if not c.order_known and _chain(c))


def _unordered_runs(installation: Installation) -> tuple[Run, ...]:
    runs = [run for circuit in _chains(installation) for run in circuit.runs]
    return tuple(dict.fromkeys((*runs, *unsure_runs(installation))))


def posterior(shares: Sequence[float], evidence: Sequence[float]) -> tuple[float, ...]:
    """Belief in each way after the readings; ``evidence`` is the log chance of them all."""
    logs = [math.log(share) + log for share, log in zip(shares, evidence, strict=True)]
    top = max(logs)
    weights = [math.exp(log - top) for log in logs]
    return tuple(weight / sum(weights) for weight in weights)


def told_apart(
    mass: Mapping[tuple[object, ...], Mapping[str, float]],
) -> dict[str, tuple[object, ...]]:
    """Each name with the role in which most of it stands, so that it is counted once."""
    best: dict[str, tuple[float, tuple[object, ...]]] = {}
    for key, names in mass.items():
        for name, weight in names.items():
            if weight > best.get(name, (-1.0, ()))[0]:
                best[name] = (weight, key)
    return {name: key for name, (_, key) in best.items()}
