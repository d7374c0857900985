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


def record_of(form: dict[str, Any], **more: Any) -> Record:
    """The record of a form with some keys replaced (underscores stand for blanks)."""
    text = layout(form | {key.replace("_", " "): value for key, value in more.items()})
    return make_record(read_job(text, "job"), history_of_form(text))
