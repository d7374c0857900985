"""The answer in sentences: what comes first, where it hurts, what could explain it, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halfsplit.diagnosis.result import Cause, Danger, Diagnosis, Suspect
from halfsplit.faults.words import conductor_words, joined, place_words, vocabulary
from halfsplit.form import Job
from halfsplit.report.readings import told
from halfsplit.wiring.model import Installation, Region

SHOWN_FROM = 0.01  # a group of suspects below this is counted among the others
MOST_SHOWN = 6
COUNTS_FROM = 1e-3  # a cause above this is reckoned with for safety
ALARMS = ("heat", "smell", "scorch", "smoke", "wet")


@dataclass(frozen=True, slots=True)
class Line:
    """A suspect group for people: chance in words, what it is, and where to look with shares."""

    chance: str
    probability: float
    says: str
    look: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Telling:
    """Sentences in the order they are said; ``first`` is empty unless danger was reported."""

    first: str
    dangers: tuple[str, ...]
    suspects: tuple[Line, ...]
    others: str
    slips: tuple[str, ...]
    cautions: tuple[str, ...]


def telling(job: Job, diagnosis: Diagnosis) -> Telling:
    """All sentences of a diagnosis, in the job's regional words."""
    shown = _shown(diagnosis.suspects)
    return Telling(
        _first(job, diagnosis),
        merged(diagnosis.dangers, job.region),
        tuple(_line(s, job.installation) for s in shown),
        _others(diagnosis, shown),
        _slips(job.installation, diagnosis),
        cautions(job, diagnosis),
    )


def in_hundred(probability: float) -> str:
    """A probability as people say it: "88 in 100", "2 in 1,000", "under 1 in 1,000"."""
    if probability >= 0.995:
        return "over 99 in 100"
    if probability >= 0.0095:
        return f"{round(probability * 100)} in 100"
    if probability >= 0.00095:
        return f"{round(probability * 1000)} in 1,000"
    return "under 1 in 1,000"


def _shown(suspects: Sequence[Suspect]) -> tuple[Suspect, ...]:
    kept = [s for s in suspects if s.probability >= SHOWN_FROM][:MOST_SHOWN]
    return tuple(kept or suspects[:1])


def _line(suspect: Suspect, installation: Installation) -> Line:
    look = []
    if len(suspect.members) > 1:
        for cause in suspect.members:
            if cause.fault is not None and cause.probability >= SHOWN_FROM * suspect.probability:
                look.append((in_hundred(cause.probability), _where(cause, installation)))
    says = suspect.says
    if suspect.members and suspect.members[0].forgotten > 0.5:
        says = f"{says.rstrip('.')}, with something plugged in beyond it that nobody mentioned."
    return Line(in_hundred(suspect.probability), suspect.probability, says, tuple(look[:4]))


def _where(cause: Cause, installation: Installation) -> str:
    assert cause.fault is not None
    region = installation.region
    places = [place_words(p, region) for p in cause.fault.places]
    between = f"between {joined(tuple(places))}" if len(places) > 1 else f"at {''.join(places)}"
    title = cause.fault.family
    return f"{title}, {between}" if places else title


def _others(diagnosis: Diagnosis, shown: Sequence[Suspect]) -> str:
    rest = sum(s.probability for s in diagnosis.suspects) - sum(s.probability for s in shown)
    count = len(diagnosis.suspects) - len(shown)
    parts = []
    if count and rest > 0.0005:
        parts.append(f"{count} others together {in_hundred(rest)}")
    parts.append(f"none of these {in_hundred(diagnosis.none)}")
    return "; ".join(parts)


def _slips(installation: Installation, diagnosis: Diagnosis) -> tuple[str, ...]:
    found = []
    for item in diagnosis.readings:
        if item.fits != "slip":
            continue
        words = told(item.reading, installation)
        found.append(
            f"{words.what} {words.shown} at {words.place} fits nothing that the other readings "
            f"fit: take it again."
        )
    return tuple(found)


def _first(job: Job, diagnosis: Diagnosis) -> str:
    if not diagnosis.alarm:
        return ""
    seen = []
    for reading in job.readings:
        felt = reading.kind == "touch" and reading.seen in ("tingle", "shock")
        if felt or (reading.kind == "sense" and reading.seen in ALARMS):
            words = told(reading, job.installation)
            seen.append(f"{words.shown} at {words.place}")
    reason = f" ({joined(tuple(seen))})" if seen else ""
    return f"First isolate, keep people away, and prove dead before anything else{reason}."


def merged(dangers: Iterable[Danger], region: Region) -> tuple[str, ...]:
    """Dangers in as few sentences as there are different figures, worst first."""
    groups: dict[tuple[str, int], list[Danger]] = {}
    for danger in dangers:
        size = round(danger.volts / 5) if danger.kind == "shock" else 0
        groups.setdefault((danger.kind, size), []).append(danger)
    said = []
    for (kind, _), members in groups.items():
        chance = in_hundred(max(d.chance for d in members))
        if kind == "shock":
            worst = max(members, key=lambda d: d.volts)
            amount = f"{worst.milliamps:.0f}" if worst.milliamps >= 10 else f"{worst.milliamps:.1f}"
            said.append(
                f"{_things(members, region)} may stand at up to {worst.volts:.0f} V to the ground, "
                f"{amount} mA through a person ({chance})."
            )
        elif kind == "unearthed":
            state = "grounded" if region == "na" else "earthed"
            said.append(
                f"{_things(members, region)} may not be {state}: one more fault makes it live "
                f"({chance})."
            )
        else:
            said += [f"{_capital(d.why)} ({in_hundred(d.chance)})." for d in members]
    return tuple(said)


def _things(members: Sequence[Danger], region: Region) -> str:
    by_conductor: dict[str, list[str]] = {}
    for danger in members:
        by_conductor.setdefault(danger.conductor, []).append(place_words(danger.place, region))
    parts = []
    for conductor, places in by_conductor.items():
        thing = "metalwork" if conductor == "frame" else conductor_words(conductor, region)
        parts.append(f"{'' if conductor == 'frame' else 'the '}{thing} at {joined(tuple(places))}")
    return _capital(" and ".join(parts))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def cautions(job: Job, diagnosis: Diagnosis) -> tuple[str, ...]:
    """The usual cautions, with those that this job's readings and suspects call for first."""
    region = job.region
    words = vocabulary(region)
    found = []
    lost = sum(
        c.probability
        for c in diagnosis.causes
        if c.fault and "origin" in c.fault.places and set(c.fault.conductors) & {"N", "PEN", "E"}
    )
    if lost > COUNTS_FROM:
        found.append(
            f"The supply's own {words['neutral']} or {words['earth']} may be lost "
            f"({in_hundred(lost)}): the main switch does not make metalwork safe. Keep off it, "
            "measure to an independent earth, call the network operator; their equipment stays "
            "shut."
        )
    if any(r.kind == "trips" and r.seen == "at once" for r in job.readings):
        found.append("After a trip at once, do not reclose before the dead tests have passed.")
    if job.sources:
        found.append(
            f"Other sources ({', '.join(job.sources)}): isolate each at its own point before "
            "isolation is trusted."
        )
    return (*found, *USUAL)


USUAL = (
    "Dead means proved dead: every pair of conductors, line and neutral each to a proved earth, "
    "two-pole detector proved before and after.",
    "Live work only where justified and permitted; local rules first. An unmarked line is still "
    "live. This advises; you decide.",
)
