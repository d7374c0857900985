"""One trial's truth: a house, what the site really is, and what is wrong in it.

*As assumed* everything is drawn from what the program itself supposes: its rates, its severities,
its unknowns. *As met* nothing is: faults come from a table of our own and have sizes of their own,
cables are longer and not always what was written, somebody plugged something in, a point is missing
from the description, figures slip more and slip again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from random import Random

from bench._trial_houses import House, draw_house
from bench._trial_meters import WORKS, Slips
from bench._trial_net import Wrong
from bench._trial_parts import Parts, Shunt, Spreads, draw_parts, scaled
from bench._trial_site import Limits, draw_limits
from bench._trial_unlike import unlike
from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.faults.fault import Fault, Severity
from halfsplit.form import read_job
from halfsplit.wiring.effects import Added, Bridged, Effect
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan

SEVERITY_SPREAD = 0.6  # log, inside one step of the program's severity grid
# What the rest of the house may draw, W per line, where it counts: each pattern as likely.
REST: Mapping[int, tuple[tuple[float, ...], ...]] = {
    1: ((0.0,), (300.0,), (3000.0,)),
    2: ((400.0, 400.0), (900.0, 150.0), (150.0, 900.0), (2500.0, 100.0), (100.0, 2500.0)),
}
OTHERS = (30.0, 1500.0)  # W per line as met
HARMLESS = "forgotten load"  # no fault: something nobody mentioned
TWO = 0.1  # of the trials have two faults


@dataclass(frozen=True, slots=True)
class Setting:
    """How the truth is drawn."""

    name: str
    spreads: Spreads
    slips: Slips
    threshold_spread: float  # of where rectifiers begin to draw, log
    own: bool  # faults by our own table, the site unlike its description


AS_ASSUMED = Setting("as-assumed", Spreads(), Slips(), 0.0, False)
AS_MET = Setting(
    "as-met",
    Spreads(0.15, 0.06, 0.6, 1.8, 0.9, 1.0, 0.15),
    Slips(chance=0.03, repeats=0.3, said_wrong=0.03),
    0.25,
    True,
)
SETTINGS = {one.name: one for one in (AS_ASSUMED, AS_MET)}

# How often each kind of fault is met, for the second setting: judgement, made beside the rates of
# the program and not from them.
MET: Mapping[str, float] = {
    "nothing wrong": 7, "open joint": 10, "loose joint": 12, "contact open": 2, "worn contact": 4,
    "open flex": 3, "broken core": 6, "damaged core": 2, "short in cable": 3, "short at point": 3,
    "leak in cable": 3, "leak at point": 4, "crossed at run end": 4, "crossed front": 4,
    "crossed between cables": 1, "crossed flex": 1, "strapped earth": 1, "switched neutral": 3,
    "lamps in series": 1, "borrowed neutral": 3, "neutrals joined": 1, "lines joined": 1,
    "neutral on wrong bar": 2, "lines exchanged": 1, "same leg": 1, "neutral-earth at board": 1,
    "ring joined across": 1, "switch bridged": 2, "switch stuck open": 3, "device off": 3,
    "pole open": 2, "pole burnt": 2, "will not trip": 0.5, "element to frame": 4,
    "line to frame": 2, "neutral to frame": 2, "big filters": 1, "appliance short": 2,
    "load off": 3, "load stuck": 0.5, "supply line lost": 1, "supply line poor": 1,
    "supply neutral lost": 2, "supply neutral poor": 2, "combined conductor lost": 2,
    "combined conductor poor": 2, "supply earth lost": 2, "supply earth poor": 1,
    "electrode poor": 2, "link missing": 1, "supply voltage": 1, "lead open": 1, "fuse blown": 1,
    "cable off": 1.5, "cable cut": 2, "accessory off": 1, "ring conductor off": 1,
    "switch terminals mixed": 1.5, "neutrals exchanged": 1, "neutral on a line": 0.5,
    "light on permanent line": 1.5, "hidden device tripped": 1, "switch left": 1.5,
    "appliance leak": 3, "loose flex": 2, "combined conductor lost upstream": 1,
    "supply short": 0.3, "primary phase lost": 1, "damp point": 1, "wrong range": 0.5,
    "leads not nulled": 1,
}  # fmt: skip
# Ohms that a tired joint adds, that a leak has, that a short has left: our own, log-uniform.
TIRED, LEAKING, SHORTED = (0.4, 4e3), (150.0, 2e6), (0.02, 8.0)


@dataclass(frozen=True, slots=True)
class Truth:
    """What is so. ``faults`` are empty where nothing is wrong; ``written`` is what was told.

    ``each`` are the effects of each thing drawn by itself, ``wrong`` all together.
    ``alias`` are the site's names for parts that the description calls otherwise.
    """

    house: House
    written: Installation
    installation: Installation
    parts: Parts
    faults: tuple[Fault, ...]
    each: tuple[tuple[Effect, ...], ...]
    wrong: Wrong
    limits: Mapping[str, Limits]
    thresholds: Mapping[str, float]
    alias: Mapping[str, str]
    unlike: tuple[str, ...]

    @property
    def family(self) -> str:
        """What kind of trouble, in one word or two."""
        return " and ".join(f.family for f in self.faults) or "nothing wrong"


def draw_truth(setting: Setting, random: Random, two: bool = False) -> Truth:
    """One site with its trouble."""
    house = draw_house(random)
    written = read_job(house.text).installation
    site, alias, words = unlike(written, random) if setting.own else (written, {}, ())
    plan = lay_out(site)
    parts = draw_parts(site, plan, setting.spreads, random)
    listed = list(enumerate_faults(site, plan))
    draw = _met if setting.own else _assumed
    found = [draw(listed, random, certain=two)]
    while two and len(found) < 2:
        more = draw(listed, random, certain=True)
        if more is not None and found[0] is not None and more[0].id != found[0][0].id:
            found.append(more)
    kept = [one for one in found if one is not None]
    each = tuple(severity.effects for _, severity in kept)
    effects = tuple(e for own in each for e in own)
    parts = replace(parts, shunts=(*parts.shunts, *rest_of_house(plan, effects, setting, random)))
    along = random.random()
    wrong = Wrong(inside(effects, parts, along) if setting.own else effects, along)
    faults = tuple(fault for fault, _ in kept if fault.family != HARMLESS)
    return Truth(
        house, written, site, parts, faults, each, wrong,
        draw_limits(parts, random), _thresholds(plan, setting, random), alias, words,
    )  # fmt: skip


def inside(effects: Sequence[Effect], parts: Parts, along: float) -> tuple[Effect, ...]:
    """What touches between two cores of one cable, somewhere along it and not at its end."""
    cores = {node: nodes for nodes in parts.inside.values() for node in (nodes[0], nodes[-1])}
    found: list[Effect] = []
    for effect in effects:
        if isinstance(effect, Bridged) and effect.a in cores and effect.b in cores:
            one, other = cores[effect.a], cores[effect.b]
            at = 1 + int(along * (len(one) - 2))
            effect = replace(effect, a=one[at], b=other[at])
        found.append(effect)
    return tuple(found)


def _thresholds(plan: Plan, setting: Setting, random: Random) -> dict[str, float]:
    """By load: where it begins to draw, to do something, to work; factors of the usual."""
    found = {load.id: scaled(random, setting.threshold_spread) for load in plan.loads}
    for load in plan.loads:
        _, some, _, well = WORKS[load.kind]
        found |= {f"some {load.id}": scaled(random, some), f"well {load.id}": scaled(random, well)}
    return found


def rest_of_house(
    plan: Plan, effects: Sequence[Effect], setting: Setting, random: Random
) -> Iterator[Shunt]:
    """What the rest of the house draws. As assumed it counts only where its neutral is bad, or
    meets the protective conductor.
    """
    touched = {e.element for e in effects if isinstance(e, Added)}
    board = next(spot for spot in plan.spots if spot.kind == "board")
    shared = any(
        e.id in touched and e.conductor in ("N", "PEN") and not e.circuit
        and (e.kind == "service" or e.at == (board.name,))
        for e in plan.elements
    )  # fmt: skip
    shared = shared or any(_meets_earth(effect) for effect in effects)
    lines = [key for key in board.conductors if key.startswith("L")]
    patterns = [*REST[len(lines)]]
    random.shuffle(patterns)
    watts = patterns[0]
    if setting.own:
        watts = tuple(random.uniform(*OTHERS) for _ in lines)
    for line, power in zip(lines, watts, strict=True):
        if power and (shared or setting.own):
            yield Shunt(f"{board.name}.{line}", f"{board.name}.N", power / plan.volts**2)


def _meets_earth(effect: Effect) -> bool:
    """Whether a neutral finds a second way home through the protective conductor."""
    if not isinstance(effect, Bridged) or effect.siemens <= 0.01:
        return False
    ends = {end.rpartition(".")[2].partition(":")[0] for end in (effect.a, effect.b)}
    return ends in ({"N", "E"}, {"N", "earth"})


def _assumed(
    faults: Sequence[Fault], random: Random, certain: bool = False
) -> tuple[Fault, Severity] | None:
    """One fault by the program's own rates and severities; None: nothing is wrong."""
    weights = [fault.rate for fault in faults]
    if not certain and random.random() < 1 / (1 + math.fsum(weights)):
        return None
    fault = random.choices(faults, weights)[0]
    severity = random.choices(fault.severities, [s.share for s in fault.severities])[0]
    if len(fault.severities) == 1:
        return fault, severity
    factor = scaled(random, SEVERITY_SPREAD)
    return fault, replace(severity, effects=tuple(_sized(e, factor) for e in severity.effects))


def _sized(effect: Effect, factor: float) -> Effect:
    if isinstance(effect, Added) and math.isfinite(effect.ohms):
        return replace(effect, ohms=effect.ohms * factor)
    if isinstance(effect, Bridged) and math.isfinite(effect.siemens):
        return replace(effect, siemens=effect.siemens / factor, farads=effect.farads)
    return effect


def _met(
    faults: Sequence[Fault], random: Random, certain: bool = False
) -> tuple[Fault, Severity] | None:
    """One fault by our own table, at a place as good as any other, of a size of its own."""
    there: dict[str, list[Fault]] = {}
    for fault in faults:
        there.setdefault(fault.family, []).append(fault)
    named = [f for f in MET if f in there or (f == "nothing wrong" and not certain)]
    family = random.choices(named, [MET[f] for f in named])[0]
    if family == "nothing wrong":
        return None
    fault = random.choice(there[family])
    severity = random.choice(fault.severities)
    ohms = {kind: math.exp(random.uniform(math.log(low), math.log(high)))
            for kind, (low, high) in
            {"tired": TIRED, "leaking": LEAKING, "shorted": SHORTED}.items()}  # fmt: skip
    if len(fault.severities) == 1:
        return fault, severity
    return fault, replace(severity, effects=tuple(_remade(e, ohms) for e in severity.effects))


def _remade(effect: Effect, ohms: Mapping[str, float]) -> Effect:
    """A graded effect with a size of ours; what is open, solid or a capacitor stays."""
    if isinstance(effect, Added) and math.isfinite(effect.ohms):
        return replace(effect, ohms=ohms["tired"])
    if isinstance(effect, Bridged) and math.isinf(effect.siemens):
        return replace(effect, siemens=1 / ohms["shorted"])
    if isinstance(effect, Bridged) and effect.siemens > 0:
        kind = "leaking" if effect.siemens < 0.02 else "shorted"
        return replace(effect, siemens=1 / ohms[kind])
    return effect
