"""The verdict on one test: against its limit, its instrument, and what this circuit can give.

A result beyond its limit fails, by however little, whatever else is the matter with it. A result
inside it passes only if the circuit could give it and the instrument could tell.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from halfsplit.errors import NotInTable
from halfsplit.form.after import Tested
from halfsplit.instruments.catalogue import instrument
from halfsplit.proving.result import Expected, Limit, Outcome, Verdict, Wanted
from halfsplit.quantity import amps, ohms, seconds, volts
from halfsplit.tables import instruments_std as std
from halfsplit.tables import supplies
from halfsplit.tables.conductors import temperature_factor

SIGMAS = 2.0
MOST_SHOWN = 2.0  # times the usual range of an insulation tester: few show a figure beyond that
STEP = 1e-9  # relative: limits met exactly are met

_UNITS = {
    "continuity": ohms, "ring ends": ohms, "ring cross": ohms, "insulation": ohms,
    "electrode": ohms, "loop": ohms, "fault current": amps, "trip time": seconds,
    "trip current": amps, "volts": volts,
}  # fmt: skip
_GOOD_SEEN = {
    "dead": "yes", "polarity": "right", "pull": "sound", "button": "trips", "switching": "yes",
    "works": "yes", "symptom": "gone",
}  # fmt: skip
_SEEN_WORDS = {
    ("dead", "yes"): "proved dead", ("dead", "no"): "not dead",
    ("polarity", "right"): "polarity right", ("polarity", "wrong"): "polarity wrong",
    ("pull", "sound"): "every core held", ("pull", "loose"): "a core moved",
    ("button", "trips"): "tripped by its button", ("button", "holds"): "did not trip by its button",
    ("switching", "yes"): "every position right", ("switching", "no"): "a position wrong",
    ("works", "yes"): "works", ("works", "no"): "does not work",
    ("symptom", "gone"): "gone", ("symptom", "still there"): "still there",
}  # fmt: skip
_LOW_OHM = ("continuity", "ring ends", "ring cross")
_FROM_WIRING = (*_LOW_OHM, "loop")
_FLOORS = {"electrode": 0.1, "trip time": 2e-3}  # no rod is so good, no device so quick: judgement
_SLIPS = (
    (1e3, "a thousand times more: milli for none, or kilo for mega"),
    (1e-3, "a thousand times less: a prefix that was not meant"),
    (10.0, "ten times more: the point one place too far left"),
    (0.1, "ten times less: the point one place too far right"),
)


@dataclass(frozen=True, slots=True)
class Result:
    """What is judged: one value with its bound, made of one or more tests that serve together."""

    value: float | None  # None: over range
    bound: str
    sigma2: float  # two standard deviations, in the result's unit
    tests: tuple[Tested, ...]


def shown(test: Tested) -> str:
    """A result as it was taken, in trade units."""
    if test.test not in _UNITS or test.seen:
        return _SEEN_WORDS.get((test.test, test.seen), test.seen)
    if test.value is None:
        return "over range"
    sign = {"=": "", ">": "over ", "<": "under ", "~": "about "}[test.bound]
    at = f" at {test.volts:.0f} V" if test.volts is not None else ""
    return f"{sign}{_UNITS[test.test](test.value)}{at}"


def of_words(test: Tested) -> str:
    """What a result is of: "R1+R2 at Folder", "insulation L+N-E at east"."""
    name = {"L+E": "R1+R2", "L+N": "R1+Rn"}.get(test.port) if test.test == "continuity" else None
    where = test.part.rpartition("/")[2] or test.place or test.circuit
    parts = (name or f"{test.test} {test.port}".strip(), f"at {where}" if where else "")
    return " ".join(part for part in parts if part)


def unit_words(wanted: Wanted, value: float) -> str:
    """A value in the test's unit."""
    printer = _UNITS.get(wanted.test)
    return printer(value) if printer else f"{value:g}"


def judged(wanted: Wanted, sets: Sequence[Sequence[Tested]]) -> Verdict:
    """The verdict on one test from the sets of results that may serve for it.

    Every set is judged and the worst counts: a good result never hides a bad one of the same test.
    """
    found = [_one(wanted, tests) for tests in sets if tests]
    if not found:
        return Verdict(wanted, "missing", "not tested yet")
    found.sort(key=lambda verdict: _RANK[verdict.outcome], reverse=True)
    worst = found[0]
    tests = tuple(dict.fromkeys(test for verdict in found for test in verdict.tests))
    doubts = tuple(dict.fromkeys(d for verdict in found for d in verdict.doubts))
    if len({verdict.outcome for verdict in found}) > 1:
        doubts = (*doubts, "results of this test disagree; the worst counts until it is taken "
                  "again with a reason")  # fmt: skip
    return replace(worst, tests=tests, doubts=doubts)


_RANK: Mapping[Outcome, int] = {
    "pass": 0, "no limit": 1, "near": 2, "missing": 3, "doubtful": 4, "implausible": 5, "fail": 6,
}  # fmt: skip


def _one(wanted: Wanted, tests: Sequence[Tested]) -> Verdict:
    if any(test.seen for test in tests) and wanted.test != "trip time":
        return _by_sight(wanted, tests)
    if wanted.test == "trip time" and any(test.seen for test in tests):
        return _held(wanted, tests)
    result = _result(wanted, tests)
    verdict = _by_number(wanted, result)
    return replace(verdict, tests=tuple(tests), uncertainty=result.sigma2,
                   doubts=(*verdict.doubts, *_doubts(wanted, result)))  # fmt: skip


def _by_sight(wanted: Wanted, tests: Sequence[Tested]) -> Verdict:
    good = all(test.seen == _GOOD_SEEN[wanted.test] for test in tests)
    doubts = ()
    if wanted.test == "dead" and good and _proves_nothing(tests):
        return Verdict(wanted, "doubtful", f"{shown(tests[0])}, but not with a two-pole detector: "
                       "that proves nothing", tuple(tests))  # fmt: skip
    why = shown(next((t for t in tests if t.seen != _GOOD_SEEN[wanted.test]), tests[0]))
    return Verdict(wanted, "pass" if good else "fail", why, tuple(tests), doubts=doubts)


def _proves_nothing(tests: Sequence[Tested]) -> bool:
    return any(test.instrument and not test.instrument.startswith("two-pole") for test in tests)


def _held(wanted: Wanted, tests: Sequence[Tested]) -> Verdict:
    """A residual device that did not trip: right at half its rating, wrong from the rating up."""
    must_hold = wanted.limit is not None and wanted.limit.least is not None
    if must_hold:
        return Verdict(wanted, "pass", "held, as it must at half its rating", tuple(tests))
    return Verdict(wanted, "fail", f"did not trip at {wanted.port} its rating", tuple(tests))


def _result(wanted: Wanted, tests: Sequence[Tested]) -> Result:
    """One value for the set: conductors in series add up, insulation in pairs shows its worse."""
    each = [(test.value, SIGMAS * _sigma(wanted, test)) for test in tests]
    values = [value for value, _ in each if value is not None]
    loosest = next((t.bound for t in tests if t.bound != "="), "=")
    if len(values) < len(each) and wanted.test != "insulation":
        return Result(None, ">", 0.0, tuple(tests))
    if wanted.test == "insulation":
        worst = min(tests, key=lambda test: math.inf if test.value is None else test.value)
        return Result(worst.value, worst.bound, SIGMAS * _sigma(wanted, worst), tuple(tests))
    return Result(sum(values), loosest, math.hypot(*(s for _, s in each)), tuple(tests))


def _sigma(wanted: Wanted, test: Tested) -> float:
    """One standard deviation of the instrument at that value, in the result's unit."""
    if test.value is None:
        return 0.0
    known = wanted.instrument
    if test.instrument:
        known = test.instrument
    try:
        kind = instrument(known) if known else None
    except NotInTable:
        kind = None
    if kind is None:
        spread = std.TESTER_UNCERTAINTY.value / SIGMAS * abs(test.value)
    elif wanted.test == "trip time":
        spread = kind.accuracy * abs(test.value)  # the floor of a ramp tester is in amperes
    else:
        spread = math.hypot(kind.accuracy * test.value, kind.floor, kind.resolution / 2)
    spread = math.hypot(spread, test.spread * test.value)
    if test.nulled is False and wanted.test in _LOW_OHM:
        spread += _LEADS / SIGMAS
    return spread


_LEADS = 0.15  # what a pair of leads adds when it was not nulled (practice.LEADS_PAIR)


def _by_number(wanted: Wanted, result: Result) -> Verdict:
    value = math.inf if result.value is None else result.value
    limit = wanted.limit
    text = shown(result.tests[0]) if len(result.tests) == 1 else unit_words(wanted, value)
    if limit is not None and (why := _beyond(limit, value)):
        slip = _slip(wanted, value)
        if wanted.by_wiring:
            why = (f"more than this wiring gives ({limit.words}): a poor joint, or more cable than "
                   "was described")  # fmt: skip
        margin = _margin(limit, value)
        return Verdict(wanted, "fail", f"{text}: {why}{slip}", margin=margin)
    if (why := _impossible(wanted, value, result)) != "":
        return Verdict(wanted, "implausible", f"{text}: {why}{_slip(wanted, value)}")
    if limit is None:
        return _without_limit(wanted, value, result, text)
    if _unclear(limit, result):
        return Verdict(wanted, "doubtful", f"{text} does not show that the limit is met "
                       f"({limit.words})")  # fmt: skip
    if why := _other_conditions(wanted, result.tests):
        return Verdict(wanted, "doubtful", f"{text}: {why} ({limit.words})")
    margin = _margin(limit, value)
    if _room(limit, value) < _close(wanted, result):
        return Verdict(
            wanted, "near", f"{text}: within its limit by less than the instrument's uncertainty "
            f"of {unit_words(wanted, result.sigma2)} ({limit.words})", margin=margin,
        )  # fmt: skip
    return Verdict(wanted, "pass", f"{text} ({limit.words})", margin=margin)


def _other_conditions(wanted: Wanted, tests: Sequence[Tested]) -> str:
    """Why a good figure was taken in conditions that do not show what was asked; "" otherwise."""
    asked = _volts_of(wanted.instrument)
    if wanted.test != "insulation" or asked is None:
        return ""
    for test in tests:
        taken = test.volts or _volts_of(test.instrument) or asked
        if test.equipment and "E" not in test.port:
            return "taken between live conductors with equipment connected, which may hide a fault"
        if taken < asked and not test.equipment:
            return f"taken at {taken:.0f} V where {asked:.0f} V was asked"
    return ""


def _volts_of(instrument: str) -> float | None:
    """The test voltage of an insulation tester by its id; None for anything else."""
    kind, _, size = instrument.rpartition(" ")
    return float(size) if kind == "insulation" else None


def _beyond(limit: Limit, value: float) -> str:
    """Why a value is outside its limit; "" where it is not. The limit itself is inside."""
    if limit.most is not None and value > limit.most * (1 + STEP):
        return f"more than allowed ({limit.words})"
    if limit.least is not None and value < limit.least * (1 - STEP):
        return f"less than needed ({limit.words})"
    return ""


def _unclear(limit: Limit, result: Result) -> bool:
    """Whether a bound leaves it open: "over 0.2" for a greatest, "under 5" for a least value."""
    return (limit.most is not None and result.bound == ">") or (
        limit.least is not None and result.bound == "<"
    )


def _room(limit: Limit, value: float) -> float:
    """How far inside the limit a value lies, in its unit."""
    ends = [limit.most - value] if limit.most is not None else []
    ends += [value - limit.least] if limit.least is not None else []
    return min(ends)


def _close(wanted: Wanted, result: Result) -> float:
    """How near its limit a value must lie to be called close to it, in its unit.

    That is the instrument's uncertainty. What the wiring gives is a band and no rule: there half
    the way from what it should read to the band's end is near enough, or good work on a short
    circuit would never pass. Leads that were left in may be anything.
    """
    expected = wanted.expected
    leads = any(test.nulled is False for test in result.tests)
    if not wanted.by_wiring or expected is None or leads:
        return result.sigma2
    return min(result.sigma2, (expected.high - expected.value) / 2.0)


def _margin(limit: Limit, value: float) -> float | None:
    if not math.isfinite(value):
        return None if limit.most is None else -1.0
    scale = limit.most if limit.most is not None else limit.least
    return _room(limit, value) / scale if scale else None


def _impossible(wanted: Wanted, value: float, result: Result) -> str:
    """Why no such value can come from this circuit and instrument; "" where it can."""
    test = result.tests[0]
    if why := _not_shown(wanted, value, result):
        return why
    if wanted.test in _UNITS and value == 0.0 and wanted.test != "volts":
        return "nothing measures exactly nothing"
    if result.bound == ">":  # it may be as much as it likes
        return ""
    floor = _FLOORS.get(wanted.test, 0.0)
    if value < floor:
        return f"less than any such thing gives (at least {unit_words(wanted, floor)}, judgement)"
    expected = wanted.expected
    if expected is None or wanted.test not in _FROM_WIRING:
        return ""
    least = expected.low * _warmth(test)
    if value + result.sigma2 < least:
        return f"less than this wiring can give (at least {unit_words(wanted, least)})"
    return ""


def _not_shown(wanted: Wanted, value: float, result: Result) -> str:
    """Why no such tester shows that figure, above its range or below its last digit; "" else."""
    known = result.tests[0].instrument or wanted.instrument
    if not known or result.bound != "=" or not math.isfinite(value):
        return ""
    try:
        kind = instrument(known)
    except NotInTable:
        return ""
    if wanted.test == "insulation" and value > MOST_SHOWN * kind.high:
        top = unit_words(wanted, kind.high)
        return f"beyond what such a tester shows; if it was off its scale, write over {top}"
    if wanted.test in ("loop", *_LOW_OHM) and 0.0 < value < kind.resolution / 2.0:
        return f"finer than such a tester shows ({unit_words(wanted, kind.resolution)})"
    return ""


def _warmth(test: Tested) -> float:
    """From the coldest conductor allowed for to the stated temperature, where one is stated."""
    if test.celsius is None:
        return 1.0
    return min(1.0, temperature_factor(test.celsius) / temperature_factor(5.0))


def _without_limit(wanted: Wanted, value: float, result: Result, text: str) -> Verdict:
    """No limit is held: what the circuit gives is all there is to compare with."""
    expected = wanted.expected
    if expected is None:
        return Verdict(wanted, "no limit", f"{text}; {wanted.note or 'no limit held'}")
    band = f"{unit_words(wanted, expected.low)} to {unit_words(wanted, expected.high)}"
    if value - result.sigma2 > expected.high:
        return Verdict(wanted, "doubtful", f"{text}: more than this wiring gives ({band}); "
                       f"{wanted.note}{_slip(wanted, value)}")  # fmt: skip
    return Verdict(wanted, "no limit", f"{text}, as this wiring gives ({band}); {wanted.note}")


def _slip(wanted: Wanted, value: float) -> str:
    """What the result would have to be multiplied by to fit, if one plain slip explains it."""
    if not math.isfinite(value) or value <= 0.0:
        return ""
    for factor, words in _SLIPS:
        if _would_fit(wanted, value * factor):
            meant = unit_words(wanted, value * factor)
            return f". It would fit as {meant} ({words}): look at the unit, and correct it if so"
    return ""


def _would_fit(wanted: Wanted, value: float) -> bool:
    expected, limit = wanted.expected, wanted.limit
    if wanted.test == "insulation":
        least = limit.least if limit is not None else None
        top = instrument(wanted.instrument or "insulation 500").high
        return least is not None and 10.0 * least <= value <= top
    if expected is not None:
        return 0.8 * expected.low <= value <= 1.2 * expected.high
    return limit is not None and limit.most is not None and 0.02 * limit.most <= value <= limit.most


def _doubts(wanted: Wanted, result: Result) -> tuple[str, ...]:
    found = []
    test, value = result.tests[0], result.value
    expected: Expected | None = wanted.expected
    if wanted.test in _LOW_OHM and expected and expected.loose:
        found.append(f"{wanted.title}: lengths are not known well, so this shows little more than "
                     "that the conductor is whole")  # fmt: skip
    if wanted.test == "insulation" and wanted.limit is not None and value is not None:
        least = wanted.limit.least or 0.0
        if value < 100.0 * least and test.bound != ">" and not test.equipment:
            found.append(f"{wanted.title}: sound wiring reads hundreds of megohms; look for damp "
                         "or something left connected")  # fmt: skip
    if wanted.test == "electrode" and value is not None and value > _STABLE:
        found.append(f"{wanted.title}: above {ohms(_STABLE)} it may not stay stable through dry "
                     "and frozen ground")  # fmt: skip
    return tuple(found)


_STABLE = supplies.ELECTRODE_STABLE_MAX.value
