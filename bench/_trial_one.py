"""One trial from its seed to its row of figures."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, field, replace
from random import Random

from bench._trial_draw import SETTINGS, TWO, Setting, Truth, draw_truth
from bench._trial_meters import Kit, draw_kit
from bench._trial_same import Sameness, fitted, on_site
from bench._trial_settle import Unsolved
from bench._trial_site import Site
from bench._trial_spice import Simulator
from bench._trial_visit import Visit, first_readings, go, site_of
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Cause, Diagnosis
from halfsplit.instruments.reading import Reading

QUIET = 0.12  # of the visits at which nothing strikes anybody are made all the same
RANKED = 3  # suspects compared with what is truly wrong
TRIES = 200


@dataclass(frozen=True)
class Row:
    """How one trial came out; JSON's own types.

    ``rank`` counts suspects from 1, "none of these" among them where it is believed more; 0: not
    among the first three; it is that of the answer when the program said to act, ``last_rank`` that
    at the end of the visit, 1 where it was found with the eyes. ``claimed`` is the belief in the
    first suspect, ``belief`` that in what is truly wrong. ``lumped``: the truth stands in a first
    suspect whose leader can be told from it.
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
    last_rank: int = 0
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
    looked: bool = False
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
        kit = draw_kit(site, setting.slips, truth.written.region, random)
        try:
            first, complaint = first_readings(truth, kit, random)
        except Unsolved:
            continue
        if complaint or random.random() < QUIET:
            return Start(truth, site, kit, first, complaint, two, random)
    raise Unsolved(f"no house of seed {seed} could be worked out")


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
    decided = visit.decided
    assert decided is not None
    judge = Judge(truth, Sameness(site))
    rank, belief, lumped, both = judge.standing(decided)
    last = 1 if visit.found_after else rank
    if visit.last is not decided and visit.last is not None and not visit.found_after:
        last, _, _, both = judge.standing(visit.last)
    first = decided.suspects[0] if decided.suspects else None
    if visit.looked_up:
        rank, belief = 1, max(belief, 1 - 1e-3)
    return replace(
        row, rank=rank, last_rank=last, claimed=first.probability if first else 0.0,
        belief=belief, none=decided.none, healthy=decided.sound,
        leader=first.members[0].id if first else "none of these", lumped=lumped, both=both,
        size=len(first.members) if first else 0, places=len(first.places) if first else 0,
        checks=visit.decided_after or len(visit.steps),
        minutes=sum(s.minutes for s in visit.steps), found=visit.found_after,
        found_minutes=visit.found_minutes, looked=visit.looked_up,
        wrong_opens=visit.wrong_opens, wrong_repairs=visit.wrong_repairs, stop=visit.stop,
        unsafe=list(dict.fromkeys(visit.unsafe)), slips=visit.slips,
        steps=[f"{s.check}: {s.outcome} ({s.belief:.2f})" for s in visit.steps],
    )  # fmt: skip


def names(cause: Cause) -> frozenset[str]:
    """The ids of a cause's faults; one empty name where nothing is wrong."""
    if cause.fault is None:
        return frozenset(("",))
    return frozenset(f.id for f in cause.fault.members or (cause.fault,))


@dataclass
class Judge:
    """Says whether a suspect is what is truly wrong, by name or because nothing parts the two."""

    truth: Truth
    sameness: Sameness
    _known: dict[tuple[str, str], bool] = field(default_factory=dict)

    @property
    def true(self) -> frozenset[str]:
        """The ids of what is truly wrong; one empty name for nothing."""
        return frozenset(f.id for f in self.truth.faults) or frozenset(("",))

    def right(self, leader: Cause) -> bool:
        """Whether a cause is it, or cannot be told from it."""
        if _names_it(leader, self.true):
            return True
        severity = leader.severities[0][0] if leader.severities else ""
        key = leader.id, severity
        if key not in self._known:
            wrong = self.sameness.site.wrong.effects
            effects = on_site(fitted(leader.fault, severity, wrong), self.truth.alias)
            self._known[key] = self.sameness.same(effects)
        return self._known[key]

    def standing(self, answer: Diagnosis) -> tuple[int, float, bool, bool]:
        """(rank, belief in it, lumped with something else, both of two named first)."""
        rank, belief, lumped = 0, 0.0, False
        for k, suspect in enumerate(answer.suspects):
            mine = any(_names_it(member, self.true) for member in suspect.members)
            right = k < RANKED and self.right(suspect.members[0])
            lumped |= k == 0 and mine and not right
            if right and not rank:
                rank = k + 1 + (answer.none > suspect.probability)
            if right or mine:
                belief += suspect.probability
        listed = {m.id for s in answer.suspects for m in s.members}
        belief += sum(c.probability for c in answer.causes
                      if c.id not in listed and _names_it(c, self.true))  # fmt: skip
        both = bool(answer.suspects) and names(answer.suspects[0].members[0]) == self.true
        return (rank if rank <= RANKED else 0), belief, lumped, both


def _names_it(cause: Cause, true: frozenset[str]) -> bool:
    """Whether a cause is what is truly wrong, or one of the two things that are."""
    mine = names(cause)
    return mine == true or (len(true) > 1 and bool(mine & true))


def as_json(row: Row) -> dict[str, object]:
    """A row as JSON's own types, numbers rounded so that it reads the same everywhere."""
    return {k: round(v, 9) if isinstance(v, float) and math.isfinite(v) else v
            for k, v in asdict(row).items()}  # fmt: skip
