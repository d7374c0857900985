"""An installation made ready once: its plan, its hypotheses and its scenes, for any readings.

A step (a reading in, suspects out) then costs only what the new reading asks.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.column import Column
from halfsplit.diagnosis.encoded import Encoded, encode, encode_coded
from halfsplit.diagnosis.hypotheses import Hypotheses, enumerate_hypotheses
from halfsplit.diagnosis.nuisance import Nuisance, Pulls, nuisances, pulls_of
from halfsplit.diagnosis.scene import Scene, build_scene, seen_through
from halfsplit.diagnosis.standing import Standing, stand
from halfsplit.diagnosis.touches import Touch
from halfsplit.faults.fault import Fault
from halfsplit.network import Functional, I, V
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Effect, ReadingChange, StateChange
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import EARTH, Plan

WILL_NOT_TRIP = "will not trip"
COARSE_VOLTS = 1e-3  # may be lost to rounding where every hypothesis is looked over
_STATES = (StateChange, ReadingChange)


class Base:
    """One set of conditions, factorised once, for every hypothesis or for a few rows of effects.

    What was asked before never widens what is asked now: asking again gives the same digits.
    """

    def __init__(self, prepared: Prepared, conditions: Conditions) -> None:
        self.hypotheses = prepared.hypotheses
        self.conditions = conditions
        self.bare, self.touches = build_scene(prepared.plan, conditions, prepared.wanted, ())
        self._stuck = prepared.stuck
        self._standing: dict[bool, Standing] = {}
        self._items = prepared.items
        self._pulls: dict[frozenset[str] | None, Pulls] = {}

    @cached_property
    def _turned(self) -> list[tuple[Touch, ...]]:
        return [self.touches.of(effect) for effect in self.hypotheses.coded.unique]

    @cached_property
    def scene(self) -> Scene:
        """The scene through which every hypothesis is seen."""
        return seen_through(self.bare, [touch.functional for row in self._turned for touch in row])

    @cached_property
    def encoded(self) -> Encoded:
        """Every hypothesis as it is felt in these conditions."""
        encoded = encode_coded(self.scene, self._turned, self.hypotheses.coded)
        away = set(self.conditions.unplugged)
        if away:
            gone = np.array([bool(away & {"all", place}) for place in self.hypotheses.beyond])
            encoded = encoded.without(encoded.extra & gone[:, None])
        return encoded

    @cached_property
    def hidden(self) -> Encoded:
        """The rows while the fault does not show: only what is plugged in remains."""
        return self.encoded.without(~self.encoded.extra)

    def pulls(self, circuits: frozenset[str] | None = None) -> Pulls:
        """What the nuisances of some circuits act on; of all without them."""
        if circuits not in self._pulls:
            self._pulls[circuits] = pulls_of(self._items, self.bare, circuits)
        return self._pulls[circuits]

    def standing(self, hides: bool) -> Standing:
        """How it stands under every hypothesis, to the millivolt, while the fault shows or not."""
        found = self._standing.get(hides)
        if found is None:
            rows = self.hidden if hides else self.encoded
            stuck = frozenset((int(h), way) for way, which in self._stuck.items() for h in which)
            found = self._standing[hides] = stand(self.scene, rows, stuck, COARSE_VOLTS)
        return found

    def rows(
        self, effects: Sequence[Sequence[Effect]], ports: Sequence[Functional]
    ) -> tuple[Scene, Encoded]:
        """Any rows of effects encoded, and a scene through which they and ``ports`` are seen."""
        rows = [self.touches.all(row) for row in effects]
        touched = [touch.functional for row in rows for touch in row]
        scene = seen_through(self.bare, [*ports, *touched])
        return scene, encode(scene, rows)


class Prepared:
    """Plan, hypotheses, nuisances; and the scenes asked for so far.

    The scenes, and the columns of what every hypothesis would show (see ``coarse``), are
    remembered, never changed: asking twice gives the same object.
    """

    def __init__(
        self,
        installation: Installation,
        plan: Plan | None = None,
        faults: tuple[Fault, ...] | None = None,
    ) -> None:
        self.installation = installation
        self.plan = lay_out(installation) if plan is None else plan
        self.hypotheses: Hypotheses = enumerate_hypotheses(installation, self.plan, faults)
        self.items: tuple[Nuisance, ...] = nuisances(
            installation, self.plan, frozenset(c.name for c in installation.circuits)
        )
        self.wanted: tuple[Functional, ...] = _functionals(self.items)
        self.stuck: dict[str, NDArray[np.intp]] = {}
        self.false: tuple[tuple[int, ReadingChange], ...] = ()
        self._note_states()
        self.columns: dict[tuple[object, ...], Column] = {}
        self._bases: dict[tuple[object, ...], Base] = {}

    def _note_states(self) -> None:
        """Rows whose device will not trip, and rows whose instrument misleads."""
        stuck: dict[str, list[int]] = {}
        false = []
        states = self.hypotheses.coded.rows_with(lambda e: isinstance(e, _STATES))
        for h, effect in states:
            if isinstance(effect, StateChange) and effect.state == WILL_NOT_TRIP:
                stuck.setdefault(effect.control, []).append(h)
            elif isinstance(effect, ReadingChange):
                false.append((h, effect))
        self.stuck = {k: np.array(v, dtype=np.intp) for k, v in stuck.items()}
        self.false = tuple(false)

    def base(self, conditions: Conditions) -> Base:
        """The scene of some conditions, made once."""
        key = conditions.key()
        found = self._bases.get(key)
        if found is None:
            found = self._bases[key] = Base(self, conditions)
        return found


def _functionals(items: tuple[Nuisance, ...]) -> tuple[Functional, ...]:
    order: dict[Functional, None] = {}
    for item in items:
        for element, _, _ in item.series:
            order[I(element)] = None
        for a, b, _, _ in item.shunts:
            order[V(a, b)] = None
        if item.emf:
            order[I(item.emf)] = None
        if item.draw[0]:
            order[V(*item.draw)] = None
        for at, _ in item.picks:
            order[V(at, EARTH)] = None
    return tuple(order)
