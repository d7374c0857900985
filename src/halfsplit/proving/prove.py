"""The whole job: what each mend calls for, every result judged, whether it may be energised."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from halfsplit.errors import BadInput, NotInTable
from halfsplit.form.after import After, Tested
from halfsplit.form.job import Job
from halfsplit.problems import Problem
from halfsplit.proving import limits
from halfsplit.proving.derived import drops
from halfsplit.proving.disturbed import Disturbed, disturbed_by
from halfsplit.proving.disturbed import words as disturbed_words
from halfsplit.proving.drafts import NUMBERS, stage_of_result
from halfsplit.proving.judge import judged, shown, unit_words
from halfsplit.proving.result import GOOD, Limit, Proof, Standing, Verdict, Wanted
from halfsplit.proving.rules import NONE_HELD, Rules, rules_for
from halfsplit.proving.sites import Sites
from halfsplit.proving.wanted import Planner
from halfsplit.wiring.plan import Plan

ALIKE_FROM = 3  # so many results equal to three digits, where the circuit says they differ


def rules_of(job: Job) -> Rules:
    """The rules of the job's region and edition. Raises: BadInput, listing the editions held."""
    try:
        return rules_for(job.region, job.edition)
    except NotInTable as error:
        accepted = ", ".join(error.known)
        raise BadInput([Problem("edition", job.edition, accepted)]) from error


def plan_tests(job: Job, plan: Plan | None = None) -> tuple[Wanted, ...]:
    """Every test the job's mends call for, in order. Raises: BadInput for an unknown edition."""
    sites = Sites.of(job.installation, plan)
    parts = [d for m in job.after.mends for d in disturbed_by(m, job.installation, sites.plan)]
    return Planner(sites, rules_of(job), job.sources).tests(parts)


def prove(job: Job, plan: Plan | None = None, wanted: tuple[Wanted, ...] | None = None) -> Proof:
    """What is proved after the mend, what is not, and what doubt remains.

    ``plan`` may be given where the installation was laid out already, and ``wanted`` where
    :func:`plan_tests` was asked already for the same mends. Raises: BadInput for an edition that
    is not held.
    """
    rules = rules_of(job)
    sites = Sites.of(job.installation, plan)
    parts = [d for m in job.after.mends for d in disturbed_by(m, job.installation, sites.plan)]
    planner = Planner(sites, rules, job.sources)
    wanted = planner.tests(parts) if wanted is None else wanted
    counted, retired = _counted(job.after.tests)
    desk = _Desk(sites, rules, wanted, counted, planner)
    verdicts = desk.verdicts()
    derived = drops(sites, rules, verdicts)
    over = tuple(f"{d.title}: {d.why}" for d in derived if d.outcome == "fail")
    doubts = (*_doubts(verdicts), *over, *_out_of_order(job.after.tests, verdicts))
    standing = _standing(
        job.after, verdicts, any(d.outcome == "fail" and d.binding for d in derived)
    )
    said = tuple(dict.fromkeys(disturbed_words(d, job.installation) for d in parts))
    return Proof(rules.id, rules.title, said, verdicts, standing, _before_live(job.after, verdicts),
                 doubts, retired, derived)  # fmt: skip


def _key(test: Tested) -> tuple[str, ...]:
    return (test.test, test.port, _subject(test), test.circuit if not test.place else "")


def _counted(
    tests: Sequence[Tested],
) -> tuple[tuple[Tested, ...], tuple[tuple[Tested, str], ...]]:
    """Results that count, and those that a later one replaces with a reason."""
    retired: dict[int, str] = {}
    for k, test in enumerate(tests):
        if test.again:
            for j in range(k):
                if j not in retired and _key(tests[j]) == _key(test):
                    retired[j] = test.again
    counted = tuple(test for k, test in enumerate(tests) if k not in retired)
    return counted, tuple((tests[k], why) for k, why in sorted(retired.items()))


def _subject(test: Tested) -> str:
    """What a result is of, as :class:`Wanted` names it."""
    if test.test in ("trip time", "trip current", "button"):
        return test.part
    if "/" in test.part or (test.part and test.test in ("pull", "polarity", "continuity")):
        return test.part
    if test.test in ("dead", "insulation", "ring ends"):
        return test.circuit
    if test.test in ("electrode", "symptom", "fault current"):
        return ""
    return test.place or test.circuit


@dataclass(frozen=True, slots=True)
class _Desk:
    """Results sorted to the tests they answer, then judged."""

    sites: Sites
    rules: Rules
    wanted: tuple[Wanted, ...]
    tests: tuple[Tested, ...]
    planner: Planner

    def verdicts(self) -> tuple[Verdict, ...]:
        """One verdict for each test asked for, then those of results nobody asked for."""
        used: set[int] = set()
        found = []
        for item in self.wanted:
            sets = [one for ports in item.ports for one in self._serving(item, ports, used)]
            found.append(judged(item, sets))
        rest = [test for test in self.tests if id(test) not in used]
        further = self._further(rest)
        found += [self._unasked(test, further) for test in rest]
        return tuple(self._ring_match(_alike(found)))

    def _serving(self, item: Wanted, ports: tuple[str, ...], used: set[int]) -> list[list[Tested]]:
        """The sets of results that each serve for a test; none unless every port has one.

        A port tested twice counts twice: of conductors that add up the higher is taken, of
        insulation the lower.
        """
        each = []
        for port in ports:
            mine = [test for test in self.tests if self._answers(item, test, port)]
            if not mine:
                return []
            each.append(mine)
        used.update(id(test) for mine in each for test in mine)
        if len(ports) == 1:
            return [[test] for test in each[0]]
        pick = min if item.test == "insulation" else max
        return [[pick(mine, key=_ohms_of) for mine in each]]

    def _answers(self, item: Wanted, test: Tested, port: str) -> bool:
        if test.test != item.test or test.port != port:
            return False
        subject = _subject(test)
        board = any(b.name == test.place for b in self.sites.inst.boards)
        own = self.sites.circuit(test.circuit)
        landed = own is not None and (board or test.part == own.device.name)
        if item.test in ("polarity", "pull") and landed:
            return item.subject == test.circuit
        if subject == item.subject:
            return True
        if self._of_a_path(item):
            one = len(self.sites.inst.circuits) == 1 or not test.circuit
            alone = sum(self._of_a_path(other) for other in self.wanted) == 1
            return alone and one and not test.place and not test.part
        if item.test == "works" and not test.place and not test.part:
            return bool(test.circuit) and test.circuit == item.circuit
        if item.test in ("trip time", "trip current", "button") and not test.part:
            return bool(test.circuit) and test.circuit == item.circuit
        if item.test in ("dead", "insulation", "ring ends") and not subject:
            return len(self.sites.inst.circuits) == 1 and item.circuit != ""
        return item.test == "switching" and test.circuit == item.circuit

    def _of_a_path(self, item: Wanted) -> bool:
        """Whether a test is of a path outside the circuits: its result names no place."""
        return item.test == "continuity" and any(
            path.name == item.subject for path in self.sites.inst.paths
        )

    def _further(self, rest: Sequence[Tested]) -> tuple[Wanted, ...]:
        """What would be asked for, had the places of results that nobody asked for been opened."""
        boards = {circuit.name: circuit.board for circuit in self.sites.inst.circuits}
        places = dict.fromkeys((t.circuit, t.place or boards[t.circuit]) for t in rest if t.circuit)
        opened = [Disturbed("", name, place) for name, place in places]
        return replace(self.planner, every=True).tests(
            opened, lambda item: any(self._answers(item, test, test.port) for test in rest)
        )

    def _unasked(self, test: Tested, further: Sequence[Wanted]) -> Verdict:
        """A result nobody asked for is judged all the same: it may show something wrong."""
        subject = _subject(test)
        for known in further:
            if (test.port,) in known.ports and self._answers(known, test, test.port):
                asked = replace(known, id=f"further {test.id}", port=test.port, why=())
                return replace(judged(asked, [[test]]), asked=False)
        title = " ".join(part for part in (test.test, test.port, f"at {subject}" if subject else "")
                         if part)  # fmt: skip
        item = Wanted(
            f"further {test.id}", test.test, test.port, subject, test.circuit,
            stage_of_result(test), title[:1].upper() + title[1:], (), (), (), _instrument(test),
            None, self._limit_of(test), ((test.port,),), NONE_HELD if test.test in NUMBERS else "",
        )  # fmt: skip
        return replace(judged(item, [[test]]), asked=False)

    def _limit_of(self, test: Tested) -> Limit | None:
        inst, rules = self.sites.inst, self.rules
        circuit = self.sites.circuit(test.circuit)
        if test.test == "insulation" and "/" not in test.part:
            nominal = inst.supply.volts.value
            return limits.insulation_limit(rules, nominal, test.equipment)
        if test.test == "loop" and circuit is not None and test.port.endswith("-E"):
            return limits.loop_limit(rules, inst, circuit)
        if test.test == "volts":
            return limits.supply_limit(rules, inst, test.port)
        if test.test == "electrode":
            return limits.electrode_limit(inst)
        device = limits.residual_device(inst, circuit) if circuit is not None else None
        if device is not None and test.test == "trip current":
            return limits.trip_current_limit(rules, device)
        if device is not None and test.test == "trip time":
            return limits.trip_time_limit(rules, device, float(test.port.rstrip("x")))
        return None

    def _ring_match(self, verdicts: list[Verdict]) -> list[Verdict]:
        """Line and neutral of one ring must read alike end to end, whatever each reads."""
        limit = limits.ring_match_limit(self.rules)
        if limit is None or limit.most is None:
            return verdicts
        ends = {(v.wanted.circuit, v.wanted.port): v.tests[0].value
                for v in verdicts if v.wanted.test == "ring ends" and v.tests}  # fmt: skip
        found = []
        for verdict in verdicts:
            item = verdict.wanted
            r1, rn = ends.get((item.circuit, "L")), ends.get((item.circuit, "N"))
            apart = r1 is not None and rn is not None and abs(r1 - rn) > limit.most + 1e-9
            if item.test == "ring ends" and item.port in ("L", "N") and apart and verdict.good:
                gap = abs((r1 or 0.0) - (rn or 0.0))
                why = f"r1 and rn differ by {gap:.2f} Ω; {unit_words(item, limit.most)} is allowed"
                verdict = replace(verdict, outcome="fail", why=why)
            found.append(verdict)
        return found


def _ohms_of(test: Tested) -> float:
    return math.inf if test.value is None else test.value


def _instrument(test: Tested) -> str:
    usual = {"insulation": "insulation 500", "loop": "loop", "electrode": "loop",
             "trip time": "ramp", "trip current": "ramp", "volts": "multimeter",
             "continuity": "continuity", "ring ends": "continuity",
             "ring cross": "continuity"}  # fmt: skip
    return test.instrument or usual.get(test.test, "")


def _alike(verdicts: Sequence[Verdict]) -> list[Verdict]:
    """Results equal to three digits at several places, where the circuit makes them differ."""
    groups: dict[tuple[str, str, str], list[Verdict]] = {}
    for verdict in verdicts:
        tests = verdict.tests
        if len(tests) == 1 and tests[0].value is not None and tests[0].bound == "=":
            key = (verdict.wanted.test, verdict.wanted.port, f"{tests[0].value:.3g}")
            groups.setdefault(key, []).append(verdict)
    suspect: set[str] = set()
    for group in groups.values():
        values = [v.wanted.expected.value for v in group if v.wanted.expected is not None]
        if len(group) < ALIKE_FROM or len(values) < ALIKE_FROM:
            continue
        room = max(v.uncertainty or 0.0 for v in group)
        if group[0].wanted.test == "insulation" or max(values) - min(values) > room:
            suspect |= {v.wanted.id for v in group}
    return [
        replace(
            v, outcome="implausible", why=f"{v.why}. The same three digits at every place, where "
            "this circuit makes them differ: measure again, each place by itself",
        ) if v.wanted.id in suspect and v.outcome != "fail" else v
        for v in verdicts
    ]  # fmt: skip


def _before_live(after: After, verdicts: Sequence[Verdict]) -> tuple[str, ...]:
    """What stands before any live test, all of it at once."""
    found = [f"still open: {item}" for item in after.open_items]
    for verdict in verdicts:
        if verdict.wanted.stage == "dead" and not verdict.good:
            state = {"missing": "not tested", "fail": "failed", "implausible": "cannot be right",
                     "doubtful": "shows nothing"}[verdict.outcome]  # fmt: skip
            found.append(f"{verdict.wanted.title}: {state}")
    return tuple(found)


def _doubts(verdicts: Sequence[Verdict]) -> tuple[str, ...]:
    found = []
    for verdict in verdicts:
        if verdict.outcome in ("near", "doubtful", "no limit", "implausible"):
            found.append(f"{verdict.wanted.title}: {verdict.why}")
        found += verdict.doubts
    return tuple(dict.fromkeys(found))


def _out_of_order(tests: Sequence[Tested], verdicts: Sequence[Verdict]) -> Iterable[str]:
    """Live results written down before the dead ones that should have come first."""
    place = {test.id: k for k, test in enumerate(tests)}
    dead = [place[t.id] for v in verdicts if v.wanted.stage == "dead" for t in v.tests
            if t.id in place]  # fmt: skip
    if not dead:
        return
    for verdict in verdicts:
        for test in verdict.tests:
            early = place.get(test.id, math.inf) < max(dead)
            if verdict.wanted.stage == "live" and early:
                yield (f"{verdict.wanted.title} ({shown(test)}) stands before the last dead test: "
                       "dead tests come first")  # fmt: skip
                return


def _standing(after: After, verdicts: Sequence[Verdict], over: bool) -> Standing:
    """How the whole stands; ``over``: a figure that follows from results is beyond its limit."""
    if not after.mends:
        return "nothing mended"
    outcomes = {verdict.outcome for verdict in verdicts}
    if outcomes - GOOD or after.open_items:
        return "not proved"
    return "in doubt" if over or outcomes - {"pass"} else "proved"
