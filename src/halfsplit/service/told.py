"""The answer in sentences: what comes first, where it hurts, what could explain it, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from halfsplit.diagnosis.result import Cause, Danger, Diagnosis, Suspect
from halfsplit.diagnosis.senses import alarming
from halfsplit.faults.catalogue import family
from halfsplit.faults.words import (
    conductor_words,
    joined,
    title_words,
    vocabulary,
)
from halfsplit.form import Job
from halfsplit.report.places import at_places, place_list, things
from halfsplit.report.readings import place_of, told
from halfsplit.wiring.model import Installation

SHOWN_FROM = 0.01  # a group of suspects below this is counted among the others
SHARE_FROM = 0.03  # a member with less of its group is not named
MOST_SHOWN = 5
MOST_PLACES = 5
COUNTS_FROM = 1e-3  # a cause above this is reckoned with for safety


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
    unexplained: str = ""


def telling(job: Job, diagnosis: Diagnosis) -> Telling:
    """All sentences of a diagnosis, in the job's regional words."""
    shown = _shown(diagnosis.suspects)
    return Telling(
        _first(job, diagnosis),
        merged(diagnosis.dangers, job.installation),
        tuple(line_of(s, job.installation) for s in shown),
        _others(diagnosis, shown),
        _slips(job.installation, diagnosis),
        cautions(job, diagnosis),
        _unexplained(diagnosis),
    )


def _unexplained(diagnosis: Diagnosis) -> str:
    """Said first when something nobody thought of is likelier than all that is known."""
    if diagnosis.none < 0.5:
        return ""
    return (
        f"Nothing known explains these readings well ({in_hundred(1 - diagnosis.none)} for all "
        "of the following together): take the doubtful ones again, look for what the "
        "description leaves out."
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


def line_of(suspect: Suspect, installation: Installation) -> Line:
    """A suspect group as a line: what its members share, and where to look."""
    faulty = [c for c in suspect.members if c.fault is not None]
    if len(faulty) < 2:
        look, says = [], suspect.says
    else:
        kept = [c for c in faulty if c.probability >= SHARE_FROM * suspect.probability]
        look = [
            (in_hundred(c.probability), member_words(c, installation, suspect.conductors))
            for c in kept
        ]
        says = _headline(suspect, faulty, installation)
    if suspect.members and suspect.members[0].forgotten > 0.5:
        says = f"{says.rstrip('.')}, with something in use that nobody mentioned"
    chance = in_hundred(suspect.probability)
    return Line(chance, suspect.probability, says.rstrip("."), tuple(look[:MOST_PLACES]))


def _headline(suspect: Suspect, faulty: Sequence[Cause], installation: Installation) -> str:
    """What the members of a group share; the first of them where they share little."""
    if suspect.members[0].fault is None:
        return f"{_capital(suspect.says)}, {_alike(len(faulty))}"
    if len(suspect.conductors) != 1 or len(set(suspect.places)) > 2:
        first = member_words(faulty[0], installation)
        return f"{_capital(first)}, {_alike(len(faulty) - 1)}"
    named = conductor_words(suspect.conductors[0], installation.region)
    where = _where(suspect.places, installation)
    return f"{_capital(named)}{where}, {len(faulty)} possibilities"


def _alike(count: int) -> str:
    return "or one other that looks the same" if count == 1 else f"or one of {count} alike"


def _where(places: Sequence[str], installation: Installation) -> str:
    count = len(set(places))
    if count == 2:
        return f" between {place_list(places, installation)}"
    return f" {at_places(places, installation)}" if count else ""


def member_words(cause: Cause, installation: Installation, shared: Sequence[str] = ()) -> str:
    """One possibility in a few words: "open joint at Charger shelf, cable to Tool bench".

    Conductors that the whole group shares (``shared``) are not said again.
    """
    assert cause.fault is not None
    region, fault = installation.region, cause.fault
    if fault.members:
        alone = (replace(cause, fault=member) for member in fault.members)
        return " with ".join(member_words(one, installation, shared) for one in alone)
    title = title_words(family(fault.family), region)
    detail = dict(fault.detail)
    extra = ""
    if len(fault.places) == 1 and detail.get("run"):
        others = [end for end in detail["run"].split("–") if end not in fault.places]
        extra = f", cable to {others[0]}" if len(others) == 1 else f", cable {detail['run']}"
    elif detail.get("load"):
        extra = f", {detail['load'].rpartition('/')[2]}"
    elif detail.get("device"):
        extra = f", {detail['device']}"
    named = joined(tuple(conductor_words(c, region) for c in fault.conductors))
    named = f", {named}" if named and tuple(fault.conductors) != tuple(shared) else ""
    worst = cause.severities[0][0] if cause.severities else ""
    size = f" (about {worst})" if worst[-1:] in ("Ω", "F") else ""
    where = _where(fault.places, installation)
    return f"{title[:1].lower()}{title[1:]}{size}{named}{where}{extra}"


def _others(diagnosis: Diagnosis, shown: Sequence[Suspect]) -> str:
    """What is not shown: smaller suspects, nothing wrong, none of these."""
    named = any(member.fault is None for suspect in shown for member in suspect.members)
    sound = 0.0 if named else diagnosis.sound
    rest = 1 - diagnosis.none - sound - sum(s.probability for s in shown)
    parts = []
    if sound >= 0.0005:
        parts.append(f"nothing wrong {in_hundred(sound)}")
    if rest >= 0.0005:
        parts.append(f"smaller ones together {in_hundred(rest)}")
    return "; ".join([*parts, f"none of these {in_hundred(diagnosis.none)}"])


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
        if what := alarming(reading):
            place = place_of(reading, job.installation)
            seen.append(f"{what} at {place}")
    reason = f" ({joined(tuple(seen))})" if seen else ""
    return f"First isolate, keep people away, and prove dead before anything else{reason}."


def merged(dangers: Iterable[Danger], installation: Installation) -> tuple[str, ...]:
    """Dangers in as few sentences as there are different figures, worst first."""
    groups: dict[tuple[str, int], list[Danger]] = {}
    for danger in dangers:
        size = round(danger.volts / 5) if danger.kind == "shock" else 0
        groups.setdefault((danger.kind, size), []).append(danger)
    said = []
    for (kind, _), members in groups.items():
        said.append(_danger(kind, members, installation))
    return tuple(said)


def _danger(kind: str, members: Sequence[Danger], installation: Installation) -> str:
    chance = in_hundred(max(d.chance for d in members))
    if kind == "shock":
        worst = max(members, key=lambda d: d.volts)
        through = f"{worst.milliamps:.{0 if worst.milliamps >= 10 else 1}f} mA through a person"
        stands = f"may stand at up to {worst.volts:.0f} V to the ground, {through}"
        return f"{_things(members, installation)} {stands} ({chance})."
    if kind == "unearthed":
        state = "grounded" if installation.region == "na" else "earthed"
        stands = f"may not be {state}: one more fault makes it live"
        return f"{_things(members, installation)} {stands} ({chance})."
    worst = max(members, key=lambda d: d.chance)
    rest = [d.place for d in members if d is not worst]
    also = f"; perhaps also {at_places(rest, installation)}" if rest else ""
    return f"{_capital(worst.why)} ({chance}){also}."


def _things(members: Sequence[Danger], installation: Installation) -> str:
    pairs = [(danger.conductor, danger.place) for danger in members]
    return _capital(things(pairs, installation))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


TOPICS = ("proved dead", "supply's", "sources", "reclos", "Live")


def together(first: Iterable[str], more: Iterable[str]) -> tuple[str, ...]:
    """Cautions each once; of ``more`` only what ``first`` does not speak of already."""
    said = tuple(dict.fromkeys(first))
    spoken = {topic for topic in TOPICS for words in said if topic in words}
    rest = [w for w in more if not any(t in w for t in spoken)]
    return (*said, *(w for w in rest if w not in said))


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
            f"measure to an independent {words['earth']}, call the network operator; their "
            "equipment stays shut."
        )
    if any(r.kind == "trips" and r.seen == "at once" for r in job.readings):
        found.append("After a trip at once, do not reclose before the dead tests have passed.")
    if job.sources:
        found.append(
            f"Other sources ({', '.join(job.sources)}): isolate each at its own point before "
            "isolation is trusted."
        )
    return (*found, *(usual.format_map(words) for usual in USUAL))


# {line}, {neutral} and {earth} in the region's words.
USUAL = (
    "Dead means proved dead: every pair of conductors, {line} and {neutral} each to a proved "
    "{earth}, two-pole detector proved before and after.",
    "Work live only where it is justified and permitted; local rules first. An unmarked {line} is "
    "still live. This advises; you decide.",
)
