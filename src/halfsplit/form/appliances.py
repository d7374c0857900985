"""Appliances people name: what kind of load each is, what it usually draws, and its frame.

Watts are usual values by common practice, known only "about": a rating plate always wins. An
appliance of class I has an earthed frame, one of class II has none. Names are matched as whole
words, the longest name first ("hair dryer" is no "dryer"); of equally long ones the last counts,
as it does in speech ("fan heater" is a heater).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from types import MappingProxyType

from halfsplit.tables import practice
from halfsplit.wiring.model import About

LINES = ("L", "L1", "L2", "L3")
SPREAD = 0.4
WIDER = 0.6  # electronics draw what they are asked to do
WIDE = 1.0  # a kind is all that is known
PLUG_WATTS_NA = 1440.0  # 12 A for long on a 15 A plug at 120 V: common practice
LARGE_FILTER = practice.FILTER_CAPACITOR.high


@dataclass(frozen=True, slots=True)
class Appliance:
    """One row: ``watts`` on one line, ``two_lines`` between two lines in North America (0: no).

    ``kind`` is one of behaviour's laws, "" when unknown; ``framed`` whether it has an earthed
    frame; ``filter_farads`` each of the two capacitors from line and neutral to it.
    """

    kind: str
    watts: float
    two_lines: float = 0.0
    framed: bool = False
    filter_farads: float = 0.0
    spread: float = SPREAD

    def usual(self, region: str, across: tuple[str, str]) -> About:
        """Usual watts between these two conductors in a region."""
        between = all(key in LINES for key in across)
        if region != "na" or (between and not self.two_lines):
            return About(self.watts, self.spread)
        watts = self.two_lines if between else min(self.watts, PLUG_WATTS_NA)
        return About(watts, self.spread)


# Kind, watts, watts between two North American lines, class, filter, names. A filter is "" none,
# "s" the usual one of small electronics, "l" a larger one behind a mains filter.
_ROWS: tuple[tuple[str, float, float, int, str, str], ...] = (
    ("heater", 2500, 0, 1, "", "kettle"),
    ("heater", 900, 0, 1, "", "toaster, waffle iron, sandwich toaster"),
    ("heater", 1200, 0, 1, "l", "microwave, microwave oven"),
    ("heater", 3000, 4000, 1, "", "stove, range, electric range, electric stove"),
    ("heater", 5000, 8000, 1, "", "cooker, electric cooker"),
    ("heater", 2500, 3500, 1, "", "oven, wall oven"),
    ("heater", 4000, 6000, 1, "", "hob, cooktop"),
    ("electronics", 3000, 6000, 1, "l", "induction hob, induction cooktop, induction"),
    ("heater", 2000, 0, 1, "", "grill, fryer, griddle, deep fryer"),
    ("heater", 250, 0, 1, "", "slow cooker"),
    ("heater", 700, 0, 1, "", "rice cooker"),
    ("heater", 1000, 0, 1, "", "coffee machine, coffee maker, coffee pot, percolator, urn"),
    ("heater", 2000, 0, 1, "l", "dishwasher"),
    ("heater", 2000, 0, 1, "l", "washing machine"),
    ("heater", 2500, 5000, 1, "", "dryer, clothes dryer, tumble dryer, tumble drier, drier"),
    ("heater", 1200, 0, 2, "", "hair dryer, hair drier, hairdryer, hairdrier, curling iron"),
    ("heater", 1600, 0, 1, "", "hand dryer, hand drier"),
    ("heater", 2000, 0, 1, "", "iron"),
    ("heater", 3000, 4500, 1, "",
     "immersion, immersion heater, water heater, hot water tank, geyser, calorifier"),
    ("heater", 8500, 0, 1, "", "shower, electric shower"),
    ("heater", 5500, 6000, 1, "", "hot tub, spa, spa bath, jacuzzi"),
    ("heater", 5500, 8000, 1, "", "sauna"),
    ("heater", 1500, 0, 1, "",
     "heater, space heater, radiator, element, fan heater, convector, infrared heater"),
    ("heater", 1500, 2000, 1, "", "baseboard, baseboard heater, panel heater"),
    ("heater", 2500, 0, 1, "", "storage heater"),
    ("heater", 500, 0, 1, "", "underfloor heating, floor heating, heat tape, heat trace"),
    ("heater", 100, 0, 1, "", "towel rail"),
    ("heater", 100, 0, 2, "", "electric blanket, heating pad"),
    ("heater", 6000, 9000, 1, "", "electric boiler, electric furnace"),
    ("heater", 4000, 8000, 1, "", "welder"),
    ("electronics", 120, 0, 1, "l", "boiler, gas boiler, oil boiler"),
    ("filament", 60, 0, 0, "", "filament, incandescent, bulb, halogen"),
    ("filament", 250, 0, 0, "", "heat lamp"),
    ("led", 8, 0, 0, "", "led, leds"),
    ("fluorescent", 40, 0, 1, "", "fluorescent, tube, strip light, fluorescents"),
    ("neon", 1, 0, 0, "", "neon, pilot light, neon indicator"),
    ("surge protector", 1, 0, 0, "",
     "surge protector, surge strip, surge suppressor, surge arrester, surge protection, spd"),
    ("electronics", 100, 0, 1, "s", "television, tv, telly, projector"),
    ("electronics", 150, 0, 1, "l", "computer, pc, desktop, server, console, game console"),
    ("electronics", 60, 0, 1, "s", "laptop, monitor, amplifier, stereo, hi-fi, printer"),
    ("electronics", 15, 0, 1, "s", "set-top box, set top box, recorder, video recorder"),
    ("electronics", 10, 0, 2, "", "router, modem, clock, clock radio, phone, doorbell"),
    ("electronics", 15, 0, 2, "", "radio, phone charger, charger, shaver"),
    ("electronics", 200, 0, 1, "l", "inverter, battery unit, ups"),
    ("electronics", 3600, 7200, 1, "l", "vehicle charger, car charger, ev charger, ev"),
    ("motor", 150, 0, 1, "", "fridge, freezer, refrigerator, fridge freezer, wine cooler"),
    ("motor", 1500, 3500, 1, "",
     "air conditioner, air conditioning, air con, aircon, air handler, conditioner"),
    ("motor", 2500, 3500, 1, "l", "heat pump"),
    ("motor", 750, 0, 1, "", "pump, pool pump, sump pump, sewage pump, jet pump"),
    ("motor", 100, 0, 1, "", "circulator, circulation pump, shower pump, pond pump"),
    ("motor", 750, 1000, 1, "", "well pump, borehole pump, submersible pump, bore pump"),
    ("motor", 500, 0, 1, "", "washer, furnace, blower, gas furnace, furnace blower"),
    ("motor", 1800, 0, 2, "", "pressure washer"),
    ("motor", 1500, 0, 1, "", "saw, table saw, mitre saw, chop saw, compressor, planer"),
    ("motor", 700, 0, 2, "", "drill, sander, grinder, router table, jigsaw, hedge trimmer"),
    ("motor", 1400, 0, 2, "", "mower, lawn mower, lawnmower"),
    ("motor", 1000, 0, 2, "", "vacuum, vacuum cleaner, hoover"),
    ("motor", 1000, 0, 1, "", "winch, hoist, treadmill"),
    ("motor", 750, 0, 1, "", "lathe, milk cooler"),
    ("motor", 400, 0, 1, "",
     "garage opener, garage door, garage door opener, opener, disposal, garbage disposal"),
    ("motor", 300, 0, 1, "", "mixer, blender, food processor, dehumidifier"),
    ("motor", 40, 0, 1, "", "fan, ceiling fan, extractor, extractor fan, exhaust fan, bath fan"),
    ("motor", 120, 0, 1, "", "range hood, cooker hood, extractor hood, hood"),
    ("motor", 80, 0, 1, "", "sewing machine"),
)  # fmt: skip
_FILTERS = {"": 0.0, "s": practice.FILTER_CAPACITOR.value, "l": LARGE_FILTER}

APPLIANCES: MappingProxyType[str, Appliance] = MappingProxyType(
    {
        name.strip(): Appliance(
            kind, float(watts), float(two), sort == 1, _FILTERS[size],
            WIDER if kind == "electronics" else SPREAD,
        )
        for kind, watts, two, sort, size, names in _ROWS
        for name in names.split(",")
    }
)  # fmt: skip
_FILTER = practice.FILTER_CAPACITOR.value
KINDS: MappingProxyType[str, Appliance] = MappingProxyType(
    {
        "heater": APPLIANCES["heater"],
        "filament": APPLIANCES["filament"],
        "led": APPLIANCES["led"],
        "electronics": Appliance(
            "electronics", practice.ELECTRONICS_W.value, 0.0, True, _FILTER, 0.8
        ),
        "motor": Appliance("motor", 250.0, 0.0, True, 0.0, WIDE),
        "fluorescent": APPLIANCES["fluorescent"],
        "neon": APPLIANCES["neon"],
        "surge protector": APPLIANCES["surge protector"],
        "": Appliance("", 60.0, 0.0, False, 0.0, WIDE),
    }
)
_IN_NA = MappingProxyType({"washing machine": APPLIANCES["washer"]})  # filled with warm water
_PLAIN_WORDS = MappingProxyType({"something": "", "unknown": ""} | {kind: kind for kind in KINDS})
_LONGEST = max(len(name.split()) for name in (*APPLIANCES, *KINDS))


def appliance(words: str, region: str = "") -> Appliance | None:
    """The appliance or kind of load that words name; None where they name neither."""
    said = re.findall(r"\w+(?:-\w+)*", words.casefold())
    for count in range(_LONGEST, 0, -1):
        for start in range(len(said) - count, -1, -1):
            phrase = " ".join(said[start : start + count])
            for name in (phrase, phrase.replace("-", " "), phrase.removesuffix("s")):
                if region == "na" and name in _IN_NA:
                    return _IN_NA[name]
                if name in APPLIANCES:
                    return APPLIANCES[name]
                if name in _PLAIN_WORDS:
                    return KINDS[_PLAIN_WORDS[name]]
    return None
