"""Word tables: what people write, and the one meaning each has. All judgement."""

from __future__ import annotations

import re
from types import MappingProxyType

LOAD_KINDS = MappingProxyType(
    {
        "heater": "heater", "heating": "heater", "filament": "filament",
        "incandescent": "filament", "halogen": "filament", "bulb": "filament", "led": "led",
        "leds": "led", "electronics": "electronics", "electronic": "electronics",
        "motor": "motor", "fluorescent": "fluorescent", "tube": "fluorescent",
        "surge protector": "surge protector", "neon": "neon", "unknown": "", "": "",
    }
)  # fmt: skip

POINT_KINDS = MappingProxyType(
    {
        "socket": "socket", "socket-outlet": "socket", "outlet": "socket", "receptacle": "socket",
        "duplex": "socket", "plug": "socket",
        "light": "light", "luminaire": "light", "lamp": "light", "fixture": "light",
        "ceiling light": "light", "downlight": "light", "wall light": "light",
        "switch": "switch", "light switch": "switch",
        "fused unit": "fused unit", "connection unit": "fused unit", "spur unit": "fused unit",
        "fused spur": "fused unit", "fcu": "fused unit",
        "joint box": "joint box", "junction box": "joint box", "joint": "joint box",
        "splice": "joint box", "box": "joint box",
        "appliance": "appliance", "fixed appliance": "appliance", "fan": "appliance",
        "heater": "appliance", "motor": "appliance", "equipment": "appliance",
        "gfci outlet": "gfci outlet", "gfci": "gfci outlet", "gfci receptacle": "gfci outlet",
        "rcd socket": "gfci outlet",
        "dimmer": "dimmer", "dimmer switch": "dimmer",
        "contactor": "contactor", "relay": "contactor",
        "photocell": "photocell", "dusk sensor": "photocell", "light sensor": "photocell",
        "motion sensor": "photocell", "pir": "photocell", "occupancy sensor": "photocell",
        "timer": "timer", "time switch": "timer", "timeswitch": "timer",
        "thermostat": "thermostat", "room thermostat": "thermostat", "humidistat": "thermostat",
        "isolator": "isolator", "disconnect": "isolator", "isolating switch": "isolator",
    }
)  # fmt: skip
_NAMED = tuple(
    (re.compile(pattern, re.I), kind)
    for pattern, kind in (
        (r".*\b(?:junction|joint) box(?: \d+)?", "joint box"),
        (r"(?:.*\b)?(?:light |wall |pull )?switch(?: \d+)?|(?:.*\b)?pull cord", "switch"),
        (r"(?:electric )?(?:shower|cooker|hob|immersion)(?: heater)?", "appliance"),
    )
)


def kind_named(name: str) -> str:
    """The kind of a point that only has a name: a socket, but for a few that are plainly none."""
    return next((kind for pattern, kind in _NAMED if pattern.fullmatch(name)), "socket")


ACCESS = MappingProxyType(
    {"plug": "plug", "cover": "cover", "floor": "floor", "under floor": "floor",
     "loft": "loft", "attic": "loft", "sealed": "sealed", "buried": "sealed", "hidden": "sealed"}
)  # fmt: skip
ACCESS_OF = MappingProxyType({"socket": "plug", "gfci outlet": "plug"})  # the rest: cover
CARRIES = MappingProxyType(
    {"accessory": "accessory", "terminals": "accessory", "pigtail": "pigtail", "splice": "pigtail",
     "pigtails": "pigtail"}
)  # fmt: skip

CONDUCTORS = MappingProxyType(
    {
        "l": "L", "line": "L", "live": "L", "hot": "L", "h": "L", "phase": "L", "active": "L",
        "n": "N", "neutral": "N", "e": "E", "pe": "E", "cpc": "E", "g": "E", "ground": "E",
        "gnd": "E", "earth wire": "E", "protective conductor": "E",
        "sl": "SL", "switched line": "SL", "switched hot": "SL", "switched live": "SL",
        "l1": "L1", "l2": "L2", "l3": "L3", "a": "L1", "b": "L2",
        "t1": "T1", "t2": "T2", "t3": "T3", "t4": "T4",
    }
)  # fmt: skip
TRUE_EARTH = frozenset(
    {"rod", "earth", "true earth", "ground rod", "earth rod", "soil", "spike", "test rod", "floor"}
)
FRAMES = frozenset({"case", "frame", "metal", "casing", "body", "cabinet", "housing"})
TAPS = frozenset({"tap", "pipe", "radiator", "sink", "faucet", "bath", "metalwork", "shower head"})

UNPLACED = frozenset({"some", "somewhere", "some place", "unknown", "not known", "unnamed",
                      "not stated"})  # fmt: skip

INSTRUMENTS = MappingProxyType(
    {
        "": "", "unknown": "", "multimeter": "multimeter", "meter": "multimeter",
        "dmm": "multimeter", "digital multimeter": "multimeter",
        "low impedance": "low impedance", "low-impedance": "low impedance",
        "low impedance meter": "low impedance", "low-impedance meter": "low impedance",
        "low-impedance multimeter": "low impedance", "loz": "low impedance",
        "two-pole": "two-pole", "two-pole tester": "two-pole", "two pole tester": "two-pole",
        "voltage tester": "two-pole", "two-pole load": "two-pole load",
        "two-pole tester with load": "two-pole load", "solenoid tester": "two-pole load",
        "moving coil": "moving coil", "moving-coil meter": "moving coil",
        "analogue meter": "moving coil", "needle meter": "moving coil",
        "millivolts": "millivolts", "millivolt range": "millivolts",
        "neon": "neon", "neon screwdriver": "neon", "neon lamp": "neon",
        "test lamp": "test lamp", "lamp": "test lamp", "led lamp": "led lamp",
        "led test lamp": "led lamp", "non-contact": "non-contact",
        "non-contact indicator": "non-contact", "volt stick": "non-contact",
        "plug tester": "plug tester", "three-lamp tester": "plug tester",
        "socket tester": "plug tester", "continuity": "continuity",
        "continuity, nulled": "continuity, nulled",
        "continuity, leads in": "continuity, leads in",
        "continuity tester": "continuity", "low-ohm meter": "continuity",
        "meter ohms": "meter ohms", "multimeter on ohms": "meter ohms", "ohmmeter": "meter ohms",
        "insulation 250": "insulation 250", "insulation 500": "insulation 500",
        "insulation 1000": "insulation 1000", "insulation tester": "insulation 500",
        "insulation tester 250 v": "insulation 250", "insulation tester 500 v": "insulation 500",
        "insulation tester 1000 v": "insulation 1000", "megohmmeter": "insulation 500",
        "loop": "loop", "loop tester": "loop", "loop tester high current": "loop",
        "loop low": "loop low", "no-trip loop tester": "loop low",
        "loop tester no trip": "loop low",
        "clamp": "clamp", "clamp meter": "clamp", "leakage clamp": "leakage clamp",
        "ramp": "ramp", "rcd tester": "ramp", "ramp tester": "ramp",
    }
)  # fmt: skip

# What may be at hand besides: it gives no reading to write down.
TOOLS = MappingProxyType(
    {
        **INSTRUMENTS,
        "tone tracer": "tone tracer", "tone generator": "tone tracer",
        "cable tracer": "tone tracer", "wire tracer": "tone tracer",
        "tone and wand": "tone tracer", "tracer": "tone tracer",
        "thermal camera": "thermal camera", "thermal imager": "thermal camera",
        "infrared camera": "thermal camera", "heat camera": "thermal camera",
    }
)  # fmt: skip

# Lamps lit across L-N, L-E, N-E on a three-lamp plug tester, from its wiring alone.
TESTER = MappingProxyType(
    {
        "correct": "110", "ok": "110", "good": "110", "normal": "110",
        "open earth": "100", "open ground": "100", "no earth": "100", "no ground": "100",
        "open neutral": "010", "no neutral": "010",
        "open line": "000", "open hot": "000", "no line": "000", "all dark": "000", "dead": "000",
        "line/earth reversed": "011", "hot/ground reversed": "011", "live/earth reversed": "011",
        "line and earth reversed": "011", "hot and ground reversed": "011",
        "line/neutral reversed": "101", "hot/neutral reversed": "101", "reversed": "101",
        "line and neutral reversed": "101", "hot and neutral reversed": "101", "all lit": "111",
    }
)  # fmt: skip

SENSES = MappingProxyType(
    {
        "buzz": "buzz", "buzzes": "buzz", "buzzing": "buzz", "hum": "buzz", "hums": "buzz",
        "humming": "buzz", "crackle": "buzz", "crackles": "buzz", "crackling": "buzz",
        "sizzling": "buzz", "fizzing": "buzz", "arcing sound": "buzz", "arcing noise": "buzz",
        "spark": "spark", "sparks": "spark", "sparking": "spark", "arcs": "spark",
        "arcing": "spark", "flash": "spark",
        "heat": "heat", "hot": "heat", "warm": "heat", "overheated": "heat",
        "overheating": "heat", "hot to touch": "heat", "warm to touch": "heat",
        "smell": "smell", "burning smell": "smell", "smell of burning": "smell",
        "burnt smell": "smell", "smoke": "smell", "smoking": "smell",
        "discoloured": "scorch", "discolored": "scorch", "browned": "scorch", "melted": "scorch",
        "scorch": "scorch", "scorched": "scorch", "burnt": "scorch",
        "charred": "scorch", "flicker": "flicker", "wet": "wet", "water": "wet", "damp": "wet",
    }
)  # fmt: skip
WORKS = MappingProxyType(
    {"yes": "works", "works": "works", "no": "dead", "dead": "dead", "weak": "weak",
     "weakly": "weak", "slowly": "weak", "badly": "weak", "true": "works", "false": "dead",
     "not": "dead", "on": "works", "off": "dead"}
)  # fmt: skip
GLOW = MappingProxyType(
    {"off": "off", "dark": "off", "unlit": "off", "no": "off", "glimmer": "glimmer",
     "glow": "glimmer", "glows": "glimmer", "dim": "dim", "normal": "normal", "lit": "normal",
     "on": "normal", "yes": "normal", "bright": "bright", "too bright": "bright",
     "flicker": "flicker", "flickers": "flicker", "flashes": "flicker"}
)  # fmt: skip

REGIONS = MappingProxyType(
    {"uk": "uk", "england": "uk", "scotland": "uk", "wales": "uk", "britain": "uk", "gb": "uk",
     "ireland": "uk", "europe": "eu", "united states": "na", "america": "na",
     "australia": "au", "new zealand": "au", "ie": "uk", "eu": "eu",
     "na": "na", "us": "na", "usa": "na", "ca": "na",
     "canada": "na", "north america": "na", "au": "au", "nz": "au"}
)  # fmt: skip
PATH_KINDS = MappingProxyType(
    {"bond": "bond", "bonding": "bond", "pipe": "pipe", "rod": "rod", "electrode": "rod",
     "coax": "screen", "screen": "screen", "steel": "steel", "body": "body", "other": "other",
     "link": "link"}
)  # fmt: skip
