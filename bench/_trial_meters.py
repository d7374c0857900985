"""What instruments truly show on the site, with their leads, their noise and their slips.

The electrician's own specimens are drawn once: an instrument of a kind has its input resistance
within the kind's band, its gain error, its leads. Figures are rounded to the last digit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from random import Random

from bench._trial_parts import Shunt, Wire
from bench._trial_site import Found, Site
from halfsplit.instruments.catalogue import INSTRUMENTS
from halfsplit.instruments.instrument import Instrument
from halfsplit.instruments.reading import Reading
from halfsplit.tables import practice
from halfsplit.wiring.effects import ReadingChange

NUMBERS = ("volts", "ohms", "megohms", "loop", "amps")
UN_NULLED = 0.25
LAMPS_MADE_FOR = 120.0
LOOP_REFUSES = 90.0  # V
# Of rated volts: something happens from (and how unlike two of a kind are, log), works from.
WORKS = {
    "heater": (0.30, 0.15, 0.85, 0.06),
    "filament": (0.25, 0.15, 0.80, 0.06),
    "led": (0.35, 0.12, 0.55, 0.12),
    "electronics": (0.45, 0.10, 0.55, 0.10),
    "motor": (0.35, 0.12, 0.75, 0.08),
    "fluorescent": (0.60, 0.06, 0.75, 0.06),
}
# What people say of what works, is weak, is dead, has not even a tenth of its volts: how often
# "works", "weak", "dead".
SAID = ("works", "weak", "dead")
TOLD = {"works": (0.97, 0.02, 0.01), "weak": (0.10, 0.65, 0.25), "dead": (0.01, 0.14, 0.85),
        "nothing": (0.005, 0.01, 0.985)}  # fmt: skip
NOTHING_BELOW = 0.1  # of rated volts
SPANS = {"volts": (0.1, 700.0), "ohms": (0.01, 1e5), "megohms": (1e3, 1e9), "loop": (0.01, 2e3),
         "amps": (1e-4, 200.0)}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Slips:
    """How often a figure slips, and how: shares of factors, of a wrong pair, of anything."""

    chance: float = 0.02
    factors: tuple[tuple[float, float], ...] = ((10.0, 0.2), (0.1, 0.2))
    prefixes: tuple[tuple[float, float], ...] = ((1e3, 0.1), (1e-3, 0.1))
    pair: float = 0.30
    anything: float = 0.15
    repeats: float = 0.0  # chance that a factor is met again at the next figure of its kind
    said_wrong: float = 0.02  # an observation told wrongly


@dataclass
class Kit:
    """The electrician's instruments, and the readings they give; figures slip now and then."""

    site: Site
    slips: Slips
    random: Random
    region: str
    specimens: Mapping[str, Instrument]
    again: dict[str, float]
    slipped: int = 0

    def take(self, asked: Reading) -> Reading:
        """The reading as it comes out. Raises: Unsolved."""
        if asked.kind in NUMBERS:
            return self._figure(asked)
        word = self._word(asked)
        return replace(asked, seen=word)

    def _figure(self, asked: Reading) -> Reading:
        who = self.specimens[asked.instrument]
        true = self.true(asked, who)
        for change in self._false():
            true = _falsified(change, asked.kind, true)
        true = self._slip(asked, true)
        if not math.isfinite(true) or true > who.high:
            return replace(asked, value=math.inf, bound=">")
        noisy = true + self.random.gauss(0.0, 1.0) * math.hypot(who.accuracy * true, who.floor)
        step = who.resolution or 1e-9
        shown = max(round(noisy / step) * step, 0.0)
        return replace(asked, value=float(f"{shown:.4g}"))

    def _false(self) -> list[ReadingChange]:
        return [e for e in self.site.wrong.effects if isinstance(e, ReadingChange)]

    def true(self, asked: Reading, who: Instrument) -> float:
        """What the instrument's terminals truly come to, before noise; infinite over range."""
        if asked.kind == "volts":
            return self._volts(asked, who)
        if asked.kind in ("ohms", "megohms"):
            return dead_ohms(self.site, asked, who)
        if asked.kind == "loop":
            return self._loop(asked, who)
        return self._amps(asked)

    def _volts(self, asked: Reading, who: Instrument) -> float:
        meter = Shunt(asked.a, asked.b, 1 / who.r_in, who.c_in)
        return abs(self.site.found(asked.conditions, [meter]).volts.between(asked.a, asked.b))

    def _loop(self, asked: Reading, who: Instrument) -> float:
        before = abs(self.site.found(asked.conditions).volts.between(asked.a, asked.b))
        if before < LOOP_REFUSES:
            return math.inf
        load = Shunt(asked.a, asked.b, 1 / who.r_in)
        after = abs(self.site.found(asked.conditions, [load]).volts.between(asked.a, asked.b))
        through = any(way.residual_amps > 0 for way in self.site.parts.plan.ways)
        return (before - after) / (after / who.r_in) + (who.bias if through else 0.0)

    def _amps(self, asked: Reading) -> float:
        found = self.site.found(asked.conditions)
        total = 0j
        for name in asked.conductors:
            element, sign = name.removeprefix("-"), -1.0 if name.startswith("-") else 1.0
            first = next((w for w in found.net.wires if w.id == element), None)
            total += sign * found.volts.amps(first) if first else 0j
        return abs(total)

    def _slip(self, asked: Reading, true: float) -> float:
        kind, slips, random = asked.kind, self.slips, self.random
        chance, pick = random.random(), random.random()
        repeat = random.random()
        if kind in self.again and repeat < slips.repeats:
            self.slipped += 1
            return true * self.again.pop(kind)
        if chance >= slips.chance:
            return true
        self.slipped += 1
        ways: list[tuple[float, float]] = [*slips.factors]
        if kind in ("ohms", "megohms", "amps"):
            ways += slips.prefixes
        whole = sum(s for _, s in ways) + slips.anything + (slips.pair if kind != "amps" else 0.0)
        for factor, share in ways:
            if pick < share / whole:
                self.again[kind] = factor
                return true * factor
            pick -= share / whole
        if pick < slips.anything / whole:
            low, high = SPANS[kind]
            return math.exp(random.uniform(math.log(low), math.log(high)))
        return self._other_pair(asked, true)

    def _other_pair(self, asked: Reading, true: float) -> float:
        """The same instrument, one probe on another terminal of the place."""
        spot = next((s for s in self.site.parts.plan.spots if s.name == asked.place), None)
        if spot is None or not asked.a.startswith(f"{asked.place}."):
            return true
        part = ":front" if spot.front else ""
        others = [f"{spot.name}.{k}{part}" for k in spot.conductors]
        others = [n for n in others if n not in (asked.a, asked.b)]
        if not others:
            return true
        other = others[int(self.random.random() * len(others))]
        return self.true(replace(asked, b=other), self.specimens[asked.instrument])

    def _word(self, asked: Reading) -> str:
        if asked.kind == "works":
            told = TOLD[self._works(asked)]
            pick, other = self.random.random(), self.random.random()
            word = self.random.choices(SAID, told)[0]
            return SAID[int(other * 3)] if pick < self.slips.said_wrong else word
        if asked.kind == "trips":
            return trip_word(self.site.found(asked.conditions), asked.of)
        if asked.kind == "lamps":
            return self._lamps(asked)
        raise ValueError(f"no word for a {asked.kind}")

    def _works(self, asked: Reading) -> str:
        found = self.site.found(asked.conditions)
        little = self._share(found, asked.of) < NOTHING_BELOW
        return "nothing" if little else self.load_word(found, asked.of)

    def _share(self, found: Found, load: str) -> float:
        """Of its rated volts, what a load has; none where it does not draw."""
        port = next(x for x in self.site.parts.plan.loads if x.id == load)
        if load not in {d.id for d in found.net.draws}:
            return 0.0
        return abs(found.volts.between(port.a, port.b)) / port.rated_volts

    def load_word(self, found: Found, load: str) -> str:
        """Whether a load works, as found."""
        share = self._share(found, load)
        if not share:
            return "dead"
        drawn = next(d for d in found.net.draws if d.id == load)
        some, _, well, _ = WORKS[drawn.kind]
        some *= self.site.thresholds.get(f"some {load}", 1.0)
        well *= self.site.thresholds.get(f"well {load}", 1.0)
        return "works" if share >= well else "weak" if share >= some else "dead"

    def _lamps(self, asked: Reading) -> str:
        plan = self.site.parts.plan
        who = self.specimens[asked.instrument]
        spot = next(s for s in plan.spots if s.name == asked.of)
        line = next(k for k in ("L", "L1", "L2", "L3", "SL") if k in spot.conductors)
        part = ":front" if spot.front else ""
        a, b, e = (f"{spot.name}.{k}{part}" for k in (line, "N", "E"))
        scale = plan.volts / LAMPS_MADE_FOR
        ohms = who.r_in * scale
        pairs = ((a, b), (a, e), (b, e))
        found = self.site.found(asked.conditions, [Shunt(x, y, 1 / ohms) for x, y in pairs])
        lit = [abs(found.volts.between(x, y)) >= who.lit_at * scale for x, y in pairs]
        return "".join("1" if one else "0" for one in lit)


def dead_ohms(site: Site, asked: Reading, who: Instrument) -> float:
    """What a dead tester comes to: its own source drives what is still connected."""
    opens, ohms = who.test_volts, who.test_volts / who.test_amps
    if asked.kind == "megohms":
        opens, ohms = 1.25 * who.test_volts, 0.25 * who.test_volts / who.test_amps
    source = [Wire("tester", asked.b, asked.a, ohms, 0.0, complex(opens, 0.0))]
    volts = site.found(asked.conditions, source).volts.between(asked.a, asked.b).real
    amps = (opens - volts) / ohms
    if amps <= opens / ohms * 1e-12:
        return math.inf
    return abs(volts / amps) + who.lead_ohms


def trip_word(found: Found, device: str) -> str:
    """How a device parts: at once, seconds, minutes, or it holds."""
    if device in found.parted:
        return "at once" if found.parted[device] < 1.0 else "seconds"
    return "minutes" if device in found.slow else "holds"


def _falsified(change: ReadingChange, kind: str, true: float) -> float:
    if "all" not in change.instruments and kind not in change.instruments:
        return true
    if change.how == "scale":
        return true * change.factor
    if change.how == "offset":
        return true + change.factor
    if change.how == "lead open" and kind != "amps":  # a clamp has no leads
        return 0.4 if kind == "volts" else math.inf
    if change.how == "fuse blown" and kind == "ohms":
        return math.inf
    return true


def draw_kit(site: Site, slips: Slips, region: str, random: Random) -> Kit:
    """One electrician's instruments."""
    specimens = {}
    for name, kind in INSTRUMENTS.items():
        low, high = kind.r_low, kind.r_high
        pick, bias, leads = random.random(), random.gauss(0.0, 1.0), random.random()
        r_in = kind.r_in if not 0 < low < high else low * (high / low) ** pick
        lead = kind.lead_ohms
        if name == "continuity" and leads < UN_NULLED:
            lead = practice.LEADS_PAIR.high
        specimens[name] = replace(
            kind, r_in=r_in, lead_ohms=lead, bias=max(kind.bias + bias * kind.bias_sigma, 0.0),
            lit_at=kind.lit_at * math.exp(kind.lit_spread * random.gauss(0.0, 1.0)),
        )  # fmt: skip
    return Kit(site, slips, random, region, specimens, {})
