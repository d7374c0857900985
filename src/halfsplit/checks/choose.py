"""The next check: what is safe, then what settles most per minute, and when to stop measuring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfsplit.checks import words
from halfsplit.checks.candidates import candidates
from halfsplit.checks.check import Check, Considered, Proposal, Refused, Remains
from halfsplit.checks.costs import KINDS, State, minutes
from halfsplit.checks.gain import (
    Grouped,
    binned,
    by_cause,
    by_remedy,
    grouped,
    information,
    screen,
)
from halfsplit.checks.hazards import Livened
from halfsplit.checks.known import Tried
from halfsplit.checks.looks import looks, remedies
from halfsplit.checks.outcomes import cause_names, group_names, outcomes
from halfsplit.checks.planned import ENDS, Planned, Scored, planned, worth
from halfsplit.checks.rows import Rows, believed_rows
from halfsplit.checks.safety import bare, cautions, sift
from halfsplit.checks.site import Site, look_round
from halfsplit.checks.steps import steps
from halfsplit.checks.trial import Shown
from halfsplit.checks.why import why
from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.diagnosis.weigh import Weighed
from halfsplit.faults.catalogue import family
from halfsplit.faults.words import describe, terminal_words
from halfsplit.quantity import amps, percent
from halfsplit.wiring.conditions import AS_DESCRIBED
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan

HIT = 0.02  # chance to find it from which a place is worth opening
SETTLED = 0.95  # belief in one suspect group at which measuring further is not worth its minutes
NOTHING = 0.04  # bits below which a check settles nothing
EXACT = 30  # checks whose gain is worked out exactly, the most promising by a quick look
EXACT_DEAD = 12  # and as many dead ones, the most promising once isolated
MOSTLY = 0.6  # of what a check settles from which its outcomes are told by suspects
OTHERWISE = 0.05  # bits that another check must offer before live work in an open box is refused


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
    """The next checks with those refused and why, and whether to stop measuring.

    ``tools`` are instrument ids at hand (none: the usual ones); ``sources`` other sources than the
    supply; ``state`` what lasts from earlier checks (not given: what the readings' conditions say).
    """
    site = look_round(installation, plan, bench.readings, diagnosis, tools, state, sources)
    if site.alarm:  # isolating comes first: what follows is planned, and told, from there
        site = replace(site, state=replace(site.state, isolated=True, board_open=True))
    ready = gather(site, bench, weighed)
    site = ready.site
    found = planned(ready.scored, ready.rows, ready.groups, ready.trial.ids, site)
    stop = _stop_words(found, ready, site) if found.looks else ""
    proposals = tuple(
        _proposal(s, found, ready, site, _named(s, ready, diagnosis, installation))
        for s in _varied(found, limit)
    )
    if site.alarm:
        proposals = (_isolate(site), *proposals)[:limit]
    return Considered(proposals, ready.refused, stop, ready.examined)


@dataclass(frozen=True, slots=True, eq=False)
class Ready:
    """Everything a choice is made from: who is believed, what each check would show.

    ``site`` is as believed after looks that found nothing.
    """

    site: Site
    rows: Rows
    trial: Tried
    groups: Grouped
    scored: tuple[Scored, ...]
    refused: tuple[Refused, ...]
    examined: int


def gather(site: Site, bench: Bench, weighed: Weighed) -> Ready:
    """The checks worth a plan that the rules allow, tried on everything believed; those refused."""
    rows = believed_rows(bench.hypotheses, weighed)
    trial = Tried(bench.prepared, rows)
    site, rows = _after_looks(site, rows, trial)
    allowed, refused = sift(candidates(site), site)
    groups = by_remedy(remedies(site), trial.ids)
    scored = _score(allowed, trial, rows, groups, site)
    # After an alarm what stood there before is no excuse: it is off now.
    livened = trial.livened(allowed, site.diagnosis.alarm)
    safe, more = _safe(scored, livened, trial, site)
    examined = len(allowed) + len(refused)
    return Ready(site, rows, trial, groups, tuple(safe), (*refused, *more), examined)


def _after_looks(site: Site, rows: Rows, trial: Tried) -> tuple[Site, Rows]:
    """What is believed after looks that found nothing, of each row and of each cause."""
    done = [check for check in looks(site) if check.id in site.state.looked]
    if not done:
        return site, rows
    left = np.ones(len(rows.weight))
    for shown in trial.shown(done):
        if shown is not None and shown.chance is not None:
            left *= shown.chance[:, -1]
    weight = rows.weight * left
    whole = max(float(weight.sum()) + rows.none, 1e-300)
    causes = by_cause(trial.ids)
    share = causes.gather(weight) / np.maximum(causes.gather(rows.weight), 1e-300)
    kept = dict(zip(dict.fromkeys(trial.ids), share.tolist(), strict=True))
    after = [
        replace(c, probability=c.probability * kept.get(c.fault.id if c.fault else "", 1.0) / whole)
        for c in site.diagnosis.causes
    ]
    return site.believing(after), replace(rows, weight=weight / whole, none=rows.none / whole)


def _score(
    checks: Sequence[Check], trial: Tried, rows: Rows, groups: Grouped, site: Site
) -> list[Scored]:
    """Every look, and the measurements of which a quick glance promises most, each worked out."""
    found = zip(checks, trial.shown(checks), strict=True)
    tried = [(check, shown) for check, shown in found if shown is not None]
    if not tried:
        return []
    quick = screen([s for _, s in tried], rows, groups)
    cost = [minutes(c, site.state, site.behind(c.where)) for c, _ in tried]
    most = np.array([worth(c, m) for (c, _), m in zip(tried, cost, strict=True)])
    looking = np.array([c.looks for c, _ in tried])
    dead = np.array([c.dead for c, _ in tried]) & ~looking
    ready = np.array([worth(c, KINDS[c.kind].minutes) for c, _ in tried])
    now = np.argsort(np.where(looking, 0.0, -quick * most), kind="stable")[:EXACT]
    soon = np.argsort(np.where(dead, -quick * ready, 0.0), kind="stable")[:EXACT_DEAD]
    chosen = list(dict.fromkeys([*now.tolist(), *soon.tolist(), *np.flatnonzero(looking).tolist()]))
    bands = binned([tried[k][1] for k in chosen])
    scored = []
    for k, each, gain in zip(chosen, bands, information(bands, rows, groups).tolist(), strict=True):
        check, shown = tried[k]
        hit = _hit(check, shown, rows)
        if gain >= NOTHING or hit >= HIT:
            scored.append(Scored(check, shown, each, gain, cost[k], hit))
    scored.sort(key=lambda s: (-round(s.score, 9), s.check.id))
    return _shut(scored)


def _hit(check: Check, shown: Shown, rows: Rows) -> float:
    """Chance that a look finds it; 0 for a reading."""
    if shown.chance is None or not check.looks:
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
    scored: list[Scored], livened: Mapping[str, Livened | None], trial: Tried, site: Site
) -> tuple[list[Scored], list[Refused]]:
    """Those that put no dangerous current on metalwork under any cause believed, and the rest."""
    kept: list[Scored] = []
    refused: list[Refused] = []
    for one in scored:
        found = livened[one.check.id]
        if found is not None and found.dangerous:
            refused.append(Refused(one.check, 5, _livens(found, trial, site), one.gain))
        else:
            kept.append(one)
    return kept, refused


def _livens(found: Livened, trial: Tried, site: Site) -> str:
    """Why a check that would put a dangerous current through somebody is refused."""
    there = terminal_words(trial.reach[found.place].a, site.installation.region, site.installation)
    return (
        f"it would put {amps(found.during)} through somebody who touches {there} if "
        f"{_if_so(trial.ids[found.row], site)}"
    )


def _if_so(id: str, site: Site) -> str:
    """A cause as part of a sentence."""
    fault = next((c.fault for c in site.diagnosis.causes if c.fault and c.fault.id == id), None)
    if fault is None:
        return "nothing is wrong" if not id else "it is one of the less likely causes"
    said = describe(fault, family(fault.family), site.installation).rstrip(".")
    return said[:1].lower() + said[1:]


def _varied(found: Planned, limit: int) -> list[Scored]:
    """The best checks, one of each kind first as long as it comes near the best.

    Whoever cannot do the first wants another sort of check, not the same next door.
    """
    if found.looks:
        return [s for s in found.order if s.check.looks or s.check.kind == "joint"][:limit]
    kept: list[Scored] = []
    for mixed in (True, False):
        for one in found.order:
            if len(kept) >= limit or (mixed and kept and one.score < kept[0].score / 4):
                break
            if one in kept or one.gain < NOTHING:
                continue
            if any(_same_place(one, k) or (mixed and one.check.kind == k.check.kind) for k in kept):
                continue
            kept.append(one)
    place = {id(one): k for k, one in enumerate(found.order)}
    return sorted(kept, key=lambda s: place[id(s)])


def _same_place(one: Scored, other: Scored) -> bool:
    """Whether a check asks what another asks, only in other conditions, and settles no more."""
    a, b = one.check, other.check
    return (a.where, a.what, a.kind) == (b.where, b.what, b.kind) and one.gain <= other.gain * 1.2


def _named(
    one: Scored, ready: Ready, diagnosis: Diagnosis, installation: Installation
) -> tuple[Grouped, tuple[Remains, ...]]:
    """What remains after an outcome, as groups and their names: suspects where a check tells these
    apart, causes where it tells the members of one, or where one looks."""
    rows, ids = ready.rows, ready.trial.ids
    suspects = grouped(diagnosis, ids)
    apart, whole = (
        float(information([one.bands], rows, groups)[0]) for groups in (suspects, by_cause(ids))
    )
    if one.check.looks or apart < whole * MOSTLY:
        return cause_names(diagnosis, ids, installation, not one.check.looks)
    return suspects, group_names(diagnosis, suspects.count, installation.region)


def _proposal(
    one: Scored,
    found: Planned,
    ready: Ready,
    site: Site,
    named: tuple[Grouped, tuple[Remains, ...]],
) -> Proposal:
    check = one.check
    return Proposal(
        words.what(check, site),
        words.where(check, site),
        words.conditions(check, site),
        one.minutes,
        one.gain,
        one.rate,
        outcomes(check, one.shown, one.bands, ready.rows, *named),
        steps(check, site),
        cautions(check, site),
        check,
        why(one, found, ready.refused, site),
    )


def _stop_words(found: Planned, ready: Ready, site: Site) -> str:
    """Why measuring stops: what it takes to look in turn, beside the best measurement."""
    first = [s.check for s in found.order if s.check.kind in ENDS][:2]
    does = f": {words.looked_at(first, site)}" if first else ""
    share = float(grouped(site.diagnosis, ready.trial.ids).gather(ready.rows.weight).max())
    if share >= SETTLED:
        return f"one suspect holds {percent(share)}{does}"
    if found.other is None:
        return f"no check that is allowed tells the leading suspects apart{does}"
    return (
        f"looking is quicker than measuring again, about {found.best:.0f} min till it is found, "
        f"{found.other:.0f} with the best measurement first{does}"
    )


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
        steps(check, site),
        cautions(check, site),
        check,
        "heat, smell, water, damage or a shock was reported: nothing is measured until it is safe",
    )
