"""The next check: what is safe, then what settles most per minute, and when to stop measuring."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halfsplit.checks import words
from halfsplit.checks.candidates import candidates
from halfsplit.checks.check import Check, Considered, Proposal, Refused, Remains
from halfsplit.checks.costs import ENTER, KINDS, State, minutes
from halfsplit.checks.gain import Grouped, binned, by_cause, grouped, information, screen
from halfsplit.checks.hazards import livened
from halfsplit.checks.looks import looks
from halfsplit.checks.outcomes import cause_names, group_names, outcomes
from halfsplit.checks.rows import Rows, believed_rows
from halfsplit.checks.safety import bare, cautions, live, sift
from halfsplit.checks.site import Site, look_round
from halfsplit.checks.trial import Shown, Trial
from halfsplit.checks.why import why
from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.diagnosis.weigh import Weighed
from halfsplit.quantity import amps, percent
from halfsplit.wiring.conditions import AS_DESCRIBED
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan

HIT = 0.02  # chance to find it from which a place is worth opening
SETTLED = 0.95  # belief in one suspect group at which measuring further is not worth its minutes
NOTHING = 0.04  # bits below which a check settles nothing
EXACT = 40  # checks whose gain is worked out exactly, the most promising by a quick look
OTHERWISE = 0.05  # bits that another check must offer before live work in an open box is refused


@dataclass(frozen=True, slots=True, eq=False)
class Scored:
    """A check with what it settles (bits), what it takes (minutes), and what it would show."""

    check: Check
    shown: Shown
    gain: float
    minutes: float
    hit: float = 0.0  # where places are chosen between: the chance that a look finds it

    @property
    def rate(self) -> float:
        """Bits per minute."""
        return self.gain / self.minutes

    @property
    def score(self) -> float:
        """Bits per minute with live work's risk as minutes: dead before live at equal worth."""
        return self.gain * _worth(self.check, self.minutes)


def propose(
    installation: Installation,
    plan: Plan,
    bench: Bench,
    weighed: Weighed,
    diagnosis: Diagnosis,
    tools: Sequence[str] = (),
    limit: int = 3,
    *,
    state: State | None = None,
    sources: Sequence[str] = (),
) -> tuple[Proposal, ...]:
    """The next checks, best first, each with what its outcomes would mean.

    ``tools`` are instrument ids at hand (none: the usual ones); ``sources`` other sources than the
    supply; ``state`` what lasts from earlier checks.
    """
    return consider(
        installation, plan, bench, weighed, diagnosis, tools, limit, state=state, sources=sources
    ).proposals


def consider(
    installation: Installation,
    plan: Plan,
    bench: Bench,
    weighed: Weighed,
    diagnosis: Diagnosis,
    tools: Sequence[str] = (),
    limit: int = 3,
    *,
    state: State | None = None,
    sources: Sequence[str] = (),
) -> Considered:
    """The next checks with those refused and why, and whether to stop measuring."""
    site = look_round(installation, plan, bench.readings, diagnosis, tools, state, sources)
    rows = believed_rows(bench.hypotheses, weighed)
    allowed, refused = sift(candidates(site), site)
    trial = Trial(bench.prepared, rows, allowed, site.places)
    rows = replace(rows, weight=_looked(trial, rows, site))
    groups = grouped(diagnosis, trial.ids)
    names = group_names(diagnosis, groups.count)
    stop = _settled_words(rows, groups, diagnosis) if _settled(rows, groups) else ""
    scored = [] if stop else _score(allowed, trial, rows, groups, site)
    kept, more = _safe(scored, trial, site, limit)
    if not kept:  # nothing tells the groups apart, or nothing needs to: choose where to open
        stop = stop or _cannot(rows, groups, diagnosis)
        groups = by_cause(trial.ids)
        names = cause_names(diagnosis, trial.ids, installation)
        scored = _to_open(allowed, trial, rows, groups, site)
        kept = scored[:limit]
    refused = (*refused, *more)
    proposals = tuple(_proposal(s, scored, rows, groups, site, names, refused) for s in kept)
    if site.alarm:
        proposals = (_isolate(site), *proposals)[:limit]
    return Considered(proposals, refused, stop, len(allowed) + len(refused))


def _looked(trial: Trial, rows: Rows, site: Site) -> NDArray[np.float64]:
    """Belief after looks that found nothing."""
    weight = rows.weight.copy()
    for check in looks(site) if site.state.looked else ():
        if check.id in site.state.looked:
            chances = dict(check.finds)
            weight *= np.array([1 - chances.get(i, 0.0) for i in trial.ids])
    return weight * (1 - rows.none) / max(float(weight.sum()), 1e-300)


def _settled(rows: Rows, groups: Grouped) -> bool:
    return bool(groups.gather(rows.weight).max() >= SETTLED)


def _score(
    checks: Sequence[Check], trial: Trial, rows: Rows, groups: Grouped, site: Site
) -> list[Scored]:
    """Every check with its gain, best score first; exact where a quick look promises most."""
    tried = [(c, s) for c in checks if (s := trial.shown(c)) is not None]
    if not tried:
        return []
    quick = screen([s for _, s in tried], rows, groups)
    cost = [minutes(c, site.state, site.behind(c.where)) for c, _ in tried]
    most = np.array([_worth(c, m) for (c, _), m in zip(tried, cost, strict=True)])
    order = np.argsort(-quick * most, kind="stable")[:EXACT]
    scored = []
    for k in order:
        check, shown = tried[k]
        gain = information(binned(shown), rows, groups)
        if gain >= NOTHING:
            scored.append(Scored(check, shown, gain, cost[k]))
    scored.sort(key=lambda s: (-round(s.score, 9), s.check.id))
    return _shut(scored)


def _worth(check: Check, minutes: float) -> float:
    """What a bit of this check is worth: one over minutes, those for its risk included."""
    return 1.0 / (minutes + ENTER + KINDS[check.kind].wariness)


def _to_open(
    checks: Sequence[Check], trial: Trial, rows: Rows, groups: Grouped, site: Site
) -> list[Scored]:
    """Looks and joints to measure, the likeliest to find it per minute first."""
    found = []
    for check in checks:
        if not (check.looks or check.kind == "joint"):
            continue
        shown = trial.shown(check)
        if shown is None:
            continue
        gain = information(binned(shown), rows, groups)
        hit, took = _hit(shown, rows), minutes(check, site.state, site.behind(check.where))
        if hit >= HIT or gain >= NOTHING:
            found.append((hit / took, Scored(check, shown, gain, took, hit)))
    found.sort(key=lambda x: (-round(x[0], 9), -round(x[1].score, 9), x[1].check.id))
    return [one for _, one in found]


def _hit(shown: Shown, rows: Rows) -> float:
    """Chance that a look finds it; 0 for a reading."""
    if shown.chance is None or shown.words[0] != "found":
        return 0.0
    return float(rows.weight @ shown.chance[:, 0])


def _shut(scored: list[Scored]) -> list[Scored]:
    """Without live work on opened equipment while anything else settles something."""
    opened = [bare(s.check) for s in scored]
    otherwise = any(s.gain >= OTHERWISE for s, o in zip(scored, opened, strict=True) if not o)
    if not otherwise:
        return scored
    return [s for s, o in zip(scored, opened, strict=True) if not o]


def _safe(
    scored: list[Scored], trial: Trial, site: Site, limit: int
) -> tuple[list[Scored], list[Refused]]:
    """The best checks that put no dangerous current on metalwork under any cause believed.

    One of each kind first, as long as it is worth a quarter of the best: whoever cannot do the
    first wants another sort of check, not the same next door.
    """
    kept: list[Scored] = []
    refused: dict[str, Refused] = {}
    for mixed in (True, False):
        for one in scored:
            if len(kept) >= limit or (mixed and kept and one.score < kept[0].score / 4):
                break
            if one in kept or one.check.id in refused:
                continue
            if any(_same_place(one, k) or (mixed and one.check.kind == k.check.kind) for k in kept):
                continue
            found = _livens(one, trial)
            if found is not None:
                refused[one.check.id] = found
            else:
                kept.append(one)
    kept.sort(key=lambda s: (-round(s.score, 9), s.check.id))
    return kept, list(refused.values())


def _livens(one: Scored, trial: Trial) -> Refused | None:
    """The refusal of a check that would put a dangerous current through somebody."""
    found = livened(trial, one.check) if live(one.check) else None
    if found is None or not found.dangerous:
        return None
    cause = trial.ids[found.row] or "nothing wrong"
    reason = (
        f"it would put {amps(found.during)} through somebody who touches "
        f"{found.node.split(':')[0]} if it is {cause}"
    )
    return Refused(one.check, 5, reason, one.gain)


def _same_place(one: Scored, other: Scored) -> bool:
    """Whether a check asks what another asks, only in other conditions, and settles no more."""
    a, b = one.check, other.check
    return (a.where, a.what, a.kind) == (b.where, b.what, b.kind) and one.gain <= other.gain * 1.2


def _proposal(
    one: Scored,
    scored: Sequence[Scored],
    rows: Rows,
    groups: Grouped,
    site: Site,
    names: tuple[Remains, ...],
    refused: Sequence[Refused],
) -> Proposal:
    check = one.check
    return Proposal(
        words.what(check, site),
        words.where(check, site),
        words.conditions(check, site),
        one.minutes,
        one.gain,
        one.rate,
        outcomes(check, one.shown, binned(one.shown), rows, groups, names),
        words.steps(check, site),
        cautions(check, site),
        check,
        why(one, scored, refused, site),
    )


def _settled_words(rows: Rows, groups: Grouped, diagnosis: Diagnosis) -> str:
    """That one suspect holds nearly all belief, and where to look for it."""
    share = groups.gather(rows.weight)
    best = int(np.argmax(share))
    held = f"one suspect holds {percent(float(share[best]))}"
    places = diagnosis.suspects[best].places if best < len(diagnosis.suspects) else ()
    return f"{held}: open {' or '.join(places)} and look" if places else held


def _cannot(rows: Rows, groups: Grouped, diagnosis: Diagnosis) -> str:
    """That nothing allowed tells the leading suspects apart, and what to open instead."""
    order = np.argsort(-groups.gather(rows.weight), kind="stable")[:2]
    says = [diagnosis.suspects[int(g)] for g in order if g < len(diagnosis.suspects)]
    places = dict.fromkeys(p for s in says for p in s.places[:1])
    said = "no check that is allowed tells the leading suspects apart"
    return f"{said}; open {' or '.join(places)} and look" if places else said


def _isolate(site: Site) -> Proposal:
    """The first line until it is answered: no gain, and nothing before it."""
    board = site.installation.boards[0].name
    check = Check("isolate", "isolate", "isolate", board, "two-pole", None, AS_DESCRIBED, "board")
    return Proposal(
        words.what(check, site),
        words.where(check, site),
        "before anything else",
        KINDS["isolate"].minutes,
        0.0,
        0.0,
        (),
        words.steps(check, site),
        cautions(check, site),
        check,
        "heat, smell, water, damage or a shock was reported: nothing is measured until it is safe",
    )
