"""Jobs whose records are made in these tests."""

from __future__ import annotations

from typing import Any

from halfsplit.form import read_job
from halfsplit.form.lines import layout
from halfsplit.service.record import Record, history_of_form, make_record

PRINT_ROOM: dict[str, Any] = {
    "title": "Print room",
    "region": "uk",
    "supply": "TN-S 230 V",
    "circuits": {
        "east": {
            "device": "B20 RCBO 30 mA",
            "run": ["12 m", "Press", "5 m", "Folder", "6 m", "Guillotine"],
            "plugged in": {"Press": "motor 750 W", "Guillotine": "heater 2 kW"},
        }
    },
    "readings": [
        {"at": "Press", "L-N": 231, "L-E": 231, "N-E": 0.4, "by": "multimeter"},
        {"at": "Folder", "L-N": "0", "L-E": 230, "by": "multimeter"},
        {"at": "Guillotine", "works": "no"},
    ],
    "mend": [{"did": "remade the neutral joint", "at": "Folder", "joint": "N", "who": "A. Fitter"}],
    "tests after": [
        {"circuit": "east", "proved dead": "yes", "by": "two-pole"},
        {"at": "Folder", "R1+R2": "0.38", "R1+Rn": "0.30", "nulled": "yes", "by": "continuity"},
        {"at": "Guillotine", "R1+R2": "0.50", "R1+Rn": "0.40", "nulled": "yes"},
        {"circuit": "east", "insulation": {"L+N-E": ">299 MΩ at 500 V"}},
        {"at": "Folder", "pull": "sound", "polarity": "right", "works": "yes"},
        {"at": "Guillotine", "loop": {"L-E": "0.86"}, "works": "yes", "symptom": "gone"},
        {"device": "east", "trip time": {"1x": "24 ms"}, "button": "trips"},
    ],
    "seen": [{"what": "board cover cracked", "at": "Board", "class": "C3"}],
}


BENCHES = [f"Bench in the far corner behind the old kiln and press no {k}" for k in range(1, 16)]
SIXTY: dict[str, Any] = {
    "title": "W" * 60,
    "circuits": {"long": {"run": [part for name in BENCHES for part in ("3 m", name)]}},
    "readings": [
        {"at": name, port: shown}
        for name in BENCHES
        for port, shown in (("L-N", 230.5), ("L-E", 231.5), ("N-E", 0.7), ("works", "yes"))
    ],
}
"""Sixty readings at places with the longest of names."""

RING: dict[str, Any] = {
    "title": "Kitchen ring",
    "region": "uk",
    "supply": "TN-C-S 230 V",
    "board": "RCD 30 mA 80 A",
    "circuits": {
        "kitchen": {
            "device": "B32",
            "ring": ["7 m", "Fridge", "3 m", "Worktop", "7 m", "Dishwasher", "5 m", "Door", "8 m"],
            "plugged in": {"Fridge": ["motor 150 W", "electronics"]},
        },
        "lights": {"device": "B6", "lighting": ["6 m", "Kitchen lamp", "4 m", "Hall lamp"]},
    },
    "readings": [
        {"at": "Worktop", "L-E": 231, "L-N": 231, "by": "multimeter"},
        {"circuit": "kitchen", "ring ends": {"r1": 0.24, "rn": 0.24, "r2": "over range"},
         "nulled": "yes"},
    ],
    "mend": [{"did": "earth back under its screw", "at": "Worktop", "joint": "E"}],
    "tests after": [
        {"circuit": "kitchen", "proved dead": "yes", "by": "two-pole"},
        {"circuit": "kitchen", "ring ends": {"r1": 0.24, "rn": 0.24, "r2": 0.39}},
        {"at": "Worktop", "ring cross": {"L-N": 0.16, "L-E": 0.19}, "pull": "sound"},
        {"circuit": "kitchen", "insulation": {"L+N-E": ">299 MΩ at 500 V"}},
        {"at": "Worktop", "polarity": "right", "loop": {"L-E": 0.41}, "works": "yes"},
        {"device": "main switch", "trip time": {"1x": "23 ms"}, "button": "trips"},
        {"symptom": "gone"},
    ],
}  # fmt: skip
"""A ring whose protective conductor was open in one joint."""


def record_of(form: dict[str, Any], **more: Any) -> Record:
    """The record of a form with some keys replaced (underscores stand for blanks)."""
    text = layout(form | {key.replace("_", " "): value for key, value in more.items()})
    return make_record(read_job(text, "job"), history_of_form(text))
