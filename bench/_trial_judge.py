"""Where what is truly wrong stands in an answer."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from bench._trial_draw import Truth
from bench._trial_same import Sameness, fitted, on_site
from halfsplit.diagnosis.result import Cause, Diagnosis

RANKED = 3  # suspects compared with what is truly wrong
SOUND = frozenset(("",))


@dataclass(frozen=True, slots=True)
class Group:
    """One suspect as believed once looks are counted; its members most believed first."""

    members: tuple[Cause, ...]
    places: tuple[str, ...]

    @property
    def belief(self) -> float:
        """The belief in all its members."""
        return math.fsum(member.probability for member in self.members)


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer with looks that found nothing counted, by the chances the program gave them."""

    groups: tuple[Group, ...]
    others: tuple[Cause, ...]  # not in any group
    none: float
    sound: float


@dataclass(frozen=True, slots=True)
class Standing:
    """``rank`` counts from 1, "none of these" among the suspects where it is believed more; 0: not
    among the first three. ``lumped``: the truth stands in a first suspect whose leader can be told
    from it; ``both``: of two faults both are named first."""

    rank: int
    belief: float
    lumped: bool
    both: bool


def names(cause: Cause) -> frozenset[str]:
    """The ids of a cause's faults; one empty name where nothing is wrong."""
    if cause.fault is None:
        return SOUND
    return frozenset(f.id for f in cause.fault.members or (cause.fault,))


def counted(found: Diagnosis, vain: Sequence[Mapping[str, float]]) -> Answer:
    """An answer once the looks that found nothing are counted.

    Each of ``vain`` says by cause how likely that look was to find it.
    """

    def left(cause: Cause) -> Cause:
        chance = math.prod(1 - look.get(cause.id, 0.0) for look in vain)
        return replace(cause, probability=cause.probability * chance)

    listed = {m.id for s in found.suspects for m in s.members}
    groups = [[left(m) for m in s.members] for s in found.suspects]
    others = [left(c) for c in found.causes if c.id not in listed]
    whole = found.none + math.fsum(c.probability for g in groups for c in g)
    whole = max(whole + math.fsum(c.probability for c in others), 1e-300)

    def share(causes: Sequence[Cause]) -> tuple[Cause, ...]:
        scaled = [replace(c, probability=c.probability / whole) for c in causes]
        return tuple(sorted(scaled, key=lambda c: -round(c.probability, 12)))

    made = [Group(share(g), s.places) for g, s in zip(groups, found.suspects, strict=True)]
    made.sort(key=lambda g: -round(g.belief, 12))
    rest = share(others)
    sound = [c.probability for g in (*(g.members for g in made), rest) for c in g if not c.fault]
    return Answer(tuple(made), rest, found.none / whole, math.fsum(sound))


@dataclass
class Judge:
    """Says whether a suspect is what is truly wrong, by name or because nothing parts the two."""

    truth: Truth
    sameness: Sameness
    _known: dict[tuple[str, str], bool] = field(default_factory=dict)

    @property
    def true(self) -> frozenset[str]:
        """The ids of what is truly wrong; one empty name for nothing."""
        return frozenset(f.id for f in self.truth.faults) or SOUND

    def names_it(self, cause: Cause) -> bool:
        """Whether a cause is what is truly wrong, or one of the two things that are."""
        mine = names(cause)
        return mine == self.true or (len(self.true) > 1 and bool(mine & self.true))

    def right(self, leader: Cause) -> bool:
        """Whether a cause is it, or cannot be told from it."""
        if self.names_it(leader):
            return True
        severity = leader.severities[0][0] if leader.severities else ""
        key = leader.id, severity
        if key not in self._known:
            wrong = self.sameness.site.wrong.effects
            effects = on_site(fitted(leader.fault, severity, wrong), self.truth.alias)
            self._known[key] = self.sameness.same(effects)
        return self._known[key]

    def standing(self, answer: Answer) -> Standing:
        """Where it stands."""
        rank, belief, lumped = 0, 0.0, False
        for k, group in enumerate(answer.groups):
            mine = any(map(self.names_it, group.members))
            right = k < RANKED and self.right(group.members[0])
            lumped |= k == 0 and mine and not right
            if right and not rank:
                rank = k + 1 + (answer.none > group.belief)
            if right or mine:
                belief += group.belief
        belief += math.fsum(c.probability for c in answer.others if self.names_it(c))
        both = bool(answer.groups) and names(answer.groups[0].members[0]) == self.true
        return Standing(rank if rank <= RANKED else 0, belief, lumped, both)
