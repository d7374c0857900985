"""The instruments an electrician, or the householder before them, may have used.

Regions decide words only. Figures without a published source say "judgement", "common practice" or
"from memory".
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from types import MappingProxyType

from halfsplit.errors import NotInTable
from halfsplit.instruments.instrument import Instrument
from halfsplit.tables import instruments_std as std
from halfsplit.tables import practice

_MAINS_LAMP = (("uk", 230.0), ("eu", 230.0), ("au", 230.0), ("na", 120.0))
_DMM = "multimeters present about 10 MΩ: engineering resource page (published); 100 pF from memory"
_COLLAPSE = "a load under 500 kΩ collapses phantom voltage: question page (published)"
_PART_2 = "IEC 61557-2:2019 extract: 1 mA at rated volts into 1 kΩ/V, within 30 % (published)"
_PART_3 = "IEC 61557-3: within 30 % (from memory)"
_PART_4 = "course notes on EN 61557-4: 4 to 24 V open, at least 200 mA (published)"


def _words(uk: str, **regions: str) -> tuple[tuple[str, str], ...]:
    return (("uk", uk), *regions.items())


def _insulation(volts: int, high: float, weight: float) -> Instrument:
    return Instrument(
        id=f"insulation {volts}",
        titles=_words(f"insulation tester, {volts} V", na=f"megohmmeter, {volts} V"),
        kinds=("megohms",),
        duty="source",
        does=f"puts {volts} V d.c. on the conductors; conducts through anything still connected",
        source=_PART_2,
        test_volts=float(volts),
        test_amps=std.INSULATION_CURRENT.value,
        accuracy=0.05,
        floor=10e3,
        resolution=10e3,
        high=high,
        weight=weight,
    )


_VOLTMETERS = (
    Instrument(
        id="multimeter",
        titles=_words("multimeter"),
        kinds=("volts",),
        duty="meter",
        does="draws almost nothing: shows ghost voltages on conductors that hang free",
        source=_DMM,
        r_in=std.DMM_INPUT.value,
        c_in=std.DMM_CAPACITANCE.value,
        accuracy=0.008,
        floor=0.15,
        resolution=0.1,
        high=1000.0,
        weight=0.60,
    ),
    Instrument(
        id="low impedance",
        titles=_words("multimeter, low-impedance range"),
        kinds=("volts",),
        duty="meter",
        does="drags a free conductor to about 0 V: shows only what can deliver current",
        source=f"2.5 to 400 kΩ, common practice and judgement; {_COLLAPSE}",
        r_in=std.LOW_Z_INPUT.value,
        r_low=std.LOW_Z_INPUT.low,
        r_high=400e3,
        accuracy=0.012,
        floor=0.3,
        resolution=0.1,
        high=1000.0,
        weight=0.12,
    ),
    Instrument(
        id="two-pole",
        titles=_words("two-pole voltage tester", na="two-pole tester"),
        kinds=("volts", "proved dead"),
        duty="meter",
        does="draws about a milliampere: collapses ghosts, and reads 0 on a live line against a "
        "neutral or earth that hangs free",
        source=f"about 200 kΩ, common practice; {_COLLAPSE}",
        r_in=std.TWO_POLE_INPUT.value,
        r_low=100e3,
        r_high=400e3,
        accuracy=0.02,
        floor=1.0,
        resolution=1.0,
        low=6.0,
        high=1000.0,
        lit_at=50.0,
        lit_spread=0.15,
        weight=0.22,
    ),
    Instrument(
        id="two-pole load",
        titles=_words("two-pole voltage tester, load pushed", na="solenoid tester"),
        kinds=("volts", "proved dead"),
        duty="meter",
        does="draws tens of milliamperes: trips a 30 mA device, livens a frame or a neutral that "
        "hangs free",
        source="5 to 7 kΩ, common practice",
        r_in=6e3,
        r_low=5e3,
        r_high=7e3,
        accuracy=0.02,
        floor=1.0,
        resolution=1.0,
        low=6.0,
        high=1000.0,
        lit_at=50.0,
        lit_spread=0.15,
        weight=0.02,
    ),
    Instrument(
        id="moving coil",
        titles=_words("moving-coil meter"),
        kinds=("volts",),
        duty="meter",
        does="draws a fraction of a milliampere: ghosts read lower than on a digital meter",
        source="20 kΩ/V on its 300 V range, common practice",
        r_in=6e6,
        c_in=50e-12,
        accuracy=0.02,
        floor=3.0,
        resolution=5.0,
        high=300.0,
        weight=0.04,
    ),
    Instrument(
        id="millivolts",
        titles=_words("multimeter, millivolt range"),
        kinds=("volts",),
        duty="meter",
        does="shows the drop along a conductor or across a joint while it carries current",
        source=_DMM,
        r_in=std.DMM_INPUT.value,
        c_in=std.DMM_CAPACITANCE.value,
        accuracy=0.01,
        floor=0.2e-3,
        resolution=0.1e-3,
        high=0.6,
        weight=0.0,
    ),
)

_LAMPS = (
    Instrument(
        id="neon",
        titles=_words("neon screwdriver or neon lamp", na="neon tester"),
        kinds=("glow",),
        duty="lamp",
        does="draws microamperes: lights on ghosts, and through a person who holds it",
        source="about 1 MΩ, strikes between 60 and 90 V, common practice",
        r_in=1e6,
        c_in=10e-12,
        low=60.0,
        high=1000.0,
        lit_at=75.0,
        lit_spread=0.12,
        weight=0.1,
    ),
    Instrument(
        id="test lamp",
        titles=_words("filament test lamp", na="incandescent test lamp"),
        kinds=("glow",),
        duty="lamp",
        does="draws a tenth of an ampere or more: trips residual devices, livens a frame or a "
        "neutral that hangs free",
        source="25 W pilot lamp, judgement",
        law="filament",
        watts=25.0,
        rated=_MAINS_LAMP,
        weight=0.6,
    ),
    Instrument(
        id="led lamp",
        titles=_words("LED test lamp"),
        kinds=("glow",),
        duty="lamp",
        does="draws a few milliamperes; glows on ghosts",
        source="3 W lamp, judgement",
        law="led",
        watts=3.0,
        rated=_MAINS_LAMP,
        weight=0.3,
    ),
    Instrument(
        id="non-contact",
        titles=_words("non-contact voltage indicator"),
        kinds=("glow",),
        duty="lamp",
        does="touches nothing; sees nearby live conductors and free ones alike; proves nothing",
        source="safety training article: not acceptable for proving dead (published); "
        "threshold about 90 V to earth, judgement",
        c_in=1e-12,
        lit_at=90.0,
        lit_spread=0.6,
        weight=0.0,
    ),
    Instrument(
        id="plug tester",
        titles=_words("socket tester with three lamps", na="receptacle tester with three lamps"),
        kinds=("lamps",),
        duty="lamp",
        does="puts three lamps across line, neutral and earth: misleads with a load beyond an "
        "open neutral, cannot see neutral and earth joined or exchanged",
        source="about 100 kΩ a lamp, lit from about 70 V, judgement",
        r_in=100e3,
        r_low=47e3,
        r_high=220e3,
        lit_at=70.0,
        lit_spread=0.18,
        weight=1.0,
    ),
)

_OHMMETERS = (
    Instrument(
        id="continuity",
        titles=_words("low-resistance ohmmeter", na="continuity tester, 200 mA"),
        kinds=("ohms",),
        duty="source",
        does="passes 200 mA d.c. round the conductors under test; only for dead circuits",
        source=f"{_PART_4}; leads about 0.1 Ω when not nulled, common practice",
        test_volts=5.0,
        test_amps=std.CONTINUITY_CURRENT_MIN.value,
        lead_ohms=0.0,
        accuracy=0.02,
        floor=0.02,
        resolution=0.01,
        high=2e3,
        weight=0.55,
    ),
    Instrument(
        id="meter ohms",
        titles=_words("multimeter, ohms range"),
        kinds=("ohms",),
        duty="source",
        does="passes about a milliampere d.c.; only for dead circuits",
        source="leads and contacts 0.2 to 1 Ω, judgement",
        test_volts=1.0,
        test_amps=1e-3,
        lead_ohms=practice.LEADS_PAIR.high,
        accuracy=0.012,
        floor=0.25,
        resolution=0.1,
        high=40e6,
        weight=0.45,
    ),
    _insulation(250, 200e6, 0.25),
    _insulation(500, 500e6, 0.70),
    _insulation(1000, 1e9, 0.05),
)

_LIVE_TESTERS = (
    Instrument(
        id="loop",
        titles=_words("loop tester, high current", na="ground-loop tester, high current"),
        kinds=("loop",),
        duty="loop",
        does="draws about 23 A for a few tens of milliseconds: trips residual devices, and puts "
        "full voltage on every frame beyond an open protective conductor",
        source=f"10 Ω for some tens of milliseconds, common practice; {_PART_3}",
        r_in=10.0,
        accuracy=0.03,
        floor=0.03,
        resolution=0.01,
        low=0.0,
        high=500.0,
        weight=0.4,
    ),
    Instrument(
        id="loop low",
        titles=_words("loop tester, no-trip", na="ground-loop tester, low current"),
        kinds=("loop",),
        duty="loop",
        does="draws 15 mA: does not trip a 30 mA device, reads up to half an ohm high through one",
        source=f"15 mA, common practice; {_PART_3}; bias up to 0.5 Ω, common practice",
        r_in=230.0 / std.LOOP_LOW_CURRENT.value,
        accuracy=0.04,
        floor=0.08,
        resolution=0.01,
        high=2000.0,
        bias=std.LOOP_NO_TRIP_EXCESS.value,
        bias_sigma=(std.LOOP_NO_TRIP_EXCESS.high - std.LOOP_NO_TRIP_EXCESS.low) / 3.29,
        weight=0.6,
    ),
    Instrument(
        id="clamp",
        titles=_words("clamp meter", na="clamp-on ammeter"),
        kinds=("amps",),
        duty="clamp",
        does="touches nothing; sums the conductors inside its jaws",
        source="2 % and 50 mA, common practice",
        accuracy=0.02,
        floor=0.05,
        resolution=0.01,
        high=400.0,
        weight=0.7,
    ),
    Instrument(
        id="leakage clamp",
        titles=_words("leakage clamp meter"),
        kinds=("amps",),
        duty="clamp",
        does="touches nothing; sums the conductors inside its jaws, down to 0.1 mA",
        source="2 % and 0.1 mA, common practice",
        accuracy=0.02,
        floor=0.1e-3,
        resolution=0.01e-3,
        high=60.0,
        weight=0.3,
    ),
    Instrument(
        id="ramp",
        titles=_words("residual-device tester, ramp", na="ground-fault tester, ramp"),
        kinds=("ramp",),
        duty="ramp",
        does="draws a rising current from line to earth until the device trips",
        source="within 10 % (IEC 61557-6, from memory); steps of 1 mA, common practice",
        accuracy=0.05,
        floor=0.5e-3,
        resolution=1e-3,
        low=1e-3,
        high=0.5,
        weight=1.0,
    ),
)

_NULLED = replace(
    _OHMMETERS[0],
    id="continuity, nulled",
    titles=_words("low-resistance ohmmeter, leads nulled", na="continuity tester, leads zeroed"),
    weight=0.0,  # only when somebody said so
)
_LEADS_IN = replace(
    _NULLED,
    id="continuity, leads in",
    titles=_words(
        "low-resistance ohmmeter, leads not nulled", na="continuity tester, leads not zeroed"
    ),
    lead_ohms=practice.LEADS_PAIR.high,
    floor=practice.LEADS_PAIR.value,
)

INSTRUMENTS: MappingProxyType[str, Instrument] = MappingProxyType(
    {
        one.id: one
        for one in (*_VOLTMETERS, *_LAMPS, *_OHMMETERS, _NULLED, _LEADS_IN, *_LIVE_TESTERS)
    }
)

OTHER_TOOLS = ("tone tracer", "thermal camera")  # at hand where said; they show no figure


def instrument(id: str) -> Instrument:
    """The instrument with that id. Raises: NotInTable, listing the ids there are."""
    try:
        return INSTRUMENTS[id]
    except KeyError:
        raise NotInTable("instruments", id, INSTRUMENTS) from None


def that_read(kind: str) -> tuple[Instrument, ...]:
    """Every instrument able to give a reading of ``kind``, in catalogue order."""
    return tuple(one for one in INSTRUMENTS.values() if kind in one.kinds)


def every() -> Iterator[Instrument]:
    """All instruments, in catalogue order."""
    return iter(INSTRUMENTS.values())
