"""An installation made ready once: its plan, its hypotheses and its scenes, for any readings.

A step (a reading in, suspects out) then costs only what the new reading asks.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.hypotheses import Hypotheses, enumerate_hypotheses
from halfsplit.diagnosis.nuisance import Nuisance, Pulls, nuisances, pulls_of
from halfsplit.diagnosis.scene import Encoded, Scene, build_scene, encode
from halfsplit.faults.fault import Fault
from halfsplit.network import Functional, I, V
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Effect, ReadingChange, StateChange
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan

WILL_NOT_TRIP = "will not trip"


class Base:
    """One set of conditions under every hypothesis, before any reading is asked."""

    def __init__(self, prepared: Prepared, conditions: Conditions) -> None:
        hyp = prepared.hypotheses
        self.scene, self.touches = build_scene(
            prepared.plan, conditions, prepared.wanted, hyp.effects
        )
        self.pulls: Pulls = pulls_of(prepared.items, self.scene)
        rows, extras = [], []
        for effects, extra in zip(hyp.effects, hyp.forgotten, strict=True):
            own = self.touches.all(effects[: len(effects) - extra])
            more = self.touches.all(effects[len(effects) - extra :]) if extra else []
            rows.append(own + more)
            extras.append(len(more))
        encoded = encode(self.scene, rows, extras)
        away = set(conditions.unplugged)
        if away:
            gone = np.array([bool(away & {"all", place}) for place in hyp.beyond])
            encoded = encoded.without(encoded.extra & gone[:, None])
        self.encoded: Encoded = encoded

    def hidden(self) -> Encoded:
        """The rows while the fault does not show: only what is plugged in remains."""
        return self.encoded.without(~self.encoded.extra)

    def rows(self, effects: list[tuple[Effect, ...]], scene: Scene) -> Encoded:
        """Any effects whose touches are in ``scene``, encoded."""
        return encode(scene, [self.touches.all(row) for row in effects])


class Prepared:
    """Plan, hypotheses, nuisances; and the scenes asked for so far.

    The scenes are remembered, never changed: asking twice gives the same object.
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
        self._bases: dict[tuple[object, ...], Base] = {}

    def _note_states(self) -> None:
        """Rows whose device will not trip, and rows whose instrument misleads."""
        stuck: dict[str, list[int]] = {}
        false = []
        for h, effects in enumerate(self.hypotheses.effects):
            for effect in effects:
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
    return tuple(order)
