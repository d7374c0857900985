"""One trial from its seed to its row of figures."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, field, replace
from random import Random

from bench._trial_draw import SETTINGS, TWO, Setting, Truth, draw_truth
from bench._trial_judge import Judge, counted
from bench._trial_meters import Kit, draw_kit
from bench._trial_same import Sameness
from bench._trial_settle import Unsolved
from bench._trial_site import Site
from bench._trial_spice import Simulator
from bench._trial_visit import Visit, first_readings, go, site_of
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.instruments.reading import Reading

QUIET = 0.12  # of the visits at which nothing strikes anybody are made all the same
TRIES = 200


@dataclass(frozen=True)
class Row:
    """How one trial came out; JSON's own types.

    ``rank`` is that of what is truly wrong in the last answer, before the look that found it
    (``Standing`` says how it counts); ``end_rank`` is 1 where it was found, else the same;
    ``acted_rank`` is that of the answer when the program first said to act. ``claimed`` is the
    last belief in the first suspect, ``belief`` that in what is truly wrong.
    """

    seed: int
    setting: str
    house: str
    family: str
    fault: str
    two: bool
    complaint: bool
    sound: bool
    unlike: list[str]
    rank: int = 0
    end_rank: int = 0
    acted_rank: int = 0
    acted_after: int = 0
    claimed: float = 0.0
    belief: float = 0.0
    none: float = 0.0
    healthy: float = 0.0
    leader: str = ""
    lumped: bool = False
    both: bool = False
    size: int = 0
    places: int = 0
    checks: int = 0
    minutes: float = 0.0
    found: int = 0
    found_minutes: float = 0.0
    wrong_opens: int = 0
    wrong_repairs: int = 0
    stop: str = ""
    unsafe: list[str] = field(default_factory=list)
    slips: int = 0
    first: list[str] = field(default_factory=list)
    steps: list[str] = field(default_factory=list)
    solves: int = 0
    failed: str = ""


@dataclass(frozen=True)
class Start:
    """A trial made ready: what is so, the site and its instruments, what is told first."""

    truth: Truth
    site: Site
    kit: Kit
    first: tuple[Reading, ...]
    complaint: bool
    two: bool
    random: Random


def begin(seed: int, setting: Setting, simulator: Simulator) -> Start:
    """Draw until something strikes somebody, or a visit is made all the same."""
    random = Random(f"{setting.name} {seed}")
    two = random.random() < TWO
    for _ in range(TRIES):
        truth = draw_truth(setting, random, two)
        site = site_of(truth, simulator)
        if two and not both_matter(truth, site):
            continue
        kit = draw_kit(site, setting.slips, truth.written.region, random)
        try:
            first, complaint = first_readings(truth, kit, random)
        except Unsolved:
            continue
        if complaint or random.random() < QUIET:
            return Start(truth, site, kit, first, complaint, two, random)
    raise Unsolved(f"no house of seed {seed} could be worked out")


def both_matter(truth: Truth, site: Site) -> bool:
    """Whether there are two faults, and neither alone would show all that both do."""
    sameness = Sameness(site)
    return len(truth.faults) == 2 and not any(sameness.same(own) for own in truth.each)


def run_trial(seed: int, setting_name: str) -> Row:
    """The trial of a seed in a setting; the same whenever and wherever it is run."""
    setting = SETTINGS[setting_name]
    with Simulator() as simulator:
        start = begin(seed, setting, simulator)
        truth = start.truth
        row = Row(
            seed, setting.name, truth.house.kind, truth.family,
            " and ".join(f.id for f in truth.faults), start.two, start.complaint,
            not truth.faults, list(truth.unlike),
            first=[f"{r.id} {r.seen or r.value}" for r in start.first],
        )  # fmt: skip
        try:
            prepared = Prepared(truth.written)
            visit = go(truth, start.random, prepared, start.first, start.kit)
            return replace(_outcome(row, truth, start.site, visit), solves=simulator.solves)
        except Exception as error:  # the run goes on; the trial counts as missed and is named
            return replace(row, failed=f"{type(error).__name__}: {error}"[:200])


def _outcome(row: Row, truth: Truth, site: Site, visit: Visit) -> Row:
    judge = Judge(truth, Sameness(site))
    assert visit.last is not None
    answer = counted(visit.last, visit.vain)
    last = judge.standing(answer)
    acted = judge.standing(counted(visit.acted or visit.last, visit.vain[: visit.acted_vain]))
    first = answer.groups[0] if answer.groups else None
    return replace(
        row, rank=last.rank, end_rank=1 if visit.found_after else last.rank,
        acted_rank=acted.rank, acted_after=visit.acted_after,
        claimed=first.belief if first else 0.0, belief=last.belief, none=answer.none,
        healthy=answer.sound, leader=first.members[0].id if first else "none of these",
        lumped=last.lumped, both=last.both, size=len(first.members) if first else 0,
        places=len(first.places) if first else 0, checks=len(visit.steps),
        minutes=sum(s.minutes for s in visit.steps), found=visit.found_after,
        found_minutes=visit.found_minutes, wrong_opens=visit.wrong_opens,
        wrong_repairs=visit.wrong_repairs, stop=visit.stop,
        unsafe=list(dict.fromkeys(visit.unsafe)), slips=visit.slips,
        steps=[f"{s.check}: {s.outcome} ({s.belief:.2f})" for s in visit.steps],
    )  # fmt: skip


def as_json(row: Row) -> dict[str, object]:
    """A row as JSON's own types, numbers rounded so that it reads the same everywhere."""
    return {k: round(v, 9) if isinstance(v, float) and math.isfinite(v) else v
            for k, v in asdict(row).items()}  # fmt: skip
