"""How a check is done: numbered steps into its conditions, the check itself, and out again."""

from __future__ import annotations

from collections.abc import Callable

from halfsplit.checks.check import Check
from halfsplit.checks.site import Site
from halfsplit.checks.words import (
    UNCHANGED,
    added_words,
    board_words,
    leg,
    lifted_words,
    linked_words,
    load_name,
    one,
    opening,
    pair,
    parts_neutral,
    regional,
    where,
    without,
)
from halfsplit.faults.words import conductor_words
from halfsplit.instruments.catalogue import instrument
from halfsplit.quantity import ohms as print_ohms

OPENED = ("cover",)


def steps(check: Check, site: Site) -> tuple[str, ...]:
    """What to do, in order: into the conditions, the check, and out of what must not stay."""
    said = [*_into(check, site), *_measure(check, site), *_out(check, site)]
    return tuple(said)


def _into(check: Check, site: Site) -> list[str]:
    c, said = check.conditions, []
    live = not c.dead and check.kind not in (*UNCHANGED, "isolate")
    if c.dead or check.kind == "isolate":
        said += isolation(site)
    elif live and site.state.isolated:
        said.append(
            "Remove every link, put back every lifted core, close covers, see that nobody is at "
            "the outlets; switch on only if the dead tests have passed."
        )
    if "all" in c.unplugged and not site.state.unplugged:
        said.append("Unplug everything on the circuit and switch off what is fixed.")
    for spot, kind, watts in c.added:
        lamp = "filament lamp" if kind == "filament" else added_words(kind)
        said.append(f"Plug a {watts:.0f} W {lamp} in at {spot}, switched on.")
    return [*said, *_opened(check, site), *_parted(check, site)]


def _parted(check: Check, site: Site) -> list[str]:
    """Cores lifted and links made, each an open item."""
    c, board, said = check.conditions, board_words(site), []
    if parts_neutral(check, site):
        said.append(
            "Isolate every circuit that could share this neutral; clamp it, 0 A; prove it dead."
        )
    for where_, lifted in lifted_words(check, site):
        said.append(f"Lift the {lifted} at {where_}{_onward(check)}; note each as open.")
    if c.links:
        linked, there = linked_words(check, site)
        if not c.lifted:
            line = conductor_words(check.what.split("-")[0].split("+")[0], site.installation.region)
            said.append(f"Lift the {line} from its device at the {board}.")
        said.append(f"Link {linked} of {check.circuit} at {there}; note the link as open.")
    return said


def _onward(check: Check) -> str:
    """Which core is lifted where one goes on: the one that leads away."""
    assert check.reading is not None
    return (
        f", what leads on to {check.reading.a.rpartition('–')[2]}" if check.kind == "split" else ""
    )


def _opened(check: Check, site: Site) -> list[str]:
    if check.access not in OPENED and check.kind != "open":
        return []
    place = where(check, site)
    if check.access == "board":
        return [f"Take off the {board_words(site)}'s cover."]
    behind = site.behind(check.where)
    if behind in ("floor", "loft"):
        how = opening(check, site).replace("by it", f"by {place}").replace("to it", f"to {place}")
        return [f"{how[:1].upper()}{how[1:]}; take off its cover."]
    return [f"Take off the cover at {place}."]


def _out(check: Check, site: Site) -> list[str]:
    """What is undone afterwards, unless the next check wants it too."""
    said = []
    if check.reading is not None and check.reading.kind == "megohms":
        said.append("Discharge the conductors.")
    if check.conditions.links:
        said.append("Afterwards take the link out and put the line back, or leave both noted.")
    if check.conditions.lifted:
        said.append("Afterwards put back each core that was lifted, or leave it noted.")
    for spot, kind, _ in check.conditions.added:
        said.append(f"Unplug the {added_words(kind)} at {spot}.")
    return said


def _ring_leg(check: Check, site: Site, place: str, tool: str) -> list[str]:
    return [
        f"Join a long lead to the {one(check, site)} end {leg(check)}; null it.",
        f"Measure from the lead to the {one(check, site)} at {place} with the {tool}.",
    ]


def _lead(check: Check, site: Site, place: str, tool: str) -> list[str]:
    return [
        f"Join a long lead to the {one(check, site)} of {check.circuit} at the "
        f"{board_words(site)}; null it.",
        f"Measure from the lead to the {one(check, site)} at {place} with the {tool}.",
    ]


def _joint(check: Check, site: Site, place: str, tool: str) -> list[str]:
    return [
        f"Measure from the bare {one(check, site)} core to the terminal it enters, with the "
        f"{tool}: {print_ohms(0.05)} or less is sound."
    ]


def _closes(check: Check, site: Site, place: str, tool: str) -> list[str]:
    device, out = without(check)
    gone = "everything behind it" if out == "everything" else out
    return [f"Unplug {gone}.", f"Close {device} once; see whether it holds. Do not repeat it."]


def _asked(check: Check, site: Site, place: str, tool: str) -> list[str]:
    if check.what == "after works":
        return ["Ask what was built, moved, drilled or changed before it began, and where.",
                'If so, enter "worked on" at that place.']  # fmt: skip
    return ["Ask and look for anything plugged in or connected further on that nobody mentioned.",
            "If there is, enter it at its place."]  # fmt: skip


def _pairwise(check: Check, site: Site, place: str, tool: str) -> list[str]:
    return [f"Measure {pair(check, site)} at {place} with the {tool}."]


Told = Callable[[Check, Site, str, str], list[str]]
_MEASURE: dict[str, Told] = {
    "lead": _lead,
    "leg": _ring_leg,
    "joint": _joint,
    "holds": _closes,
    "ask": _asked,
    "board volts": lambda c, s, p, t: [
        f"Take off the {board_words(s)}'s cover; measure {c.what} with the {t}."
    ],
    "earth volts": lambda c, s, p, t: [
        "Run a lead to a spike in the soil away from the house, or another proved independent "
        "earth.",
        f"Measure from the {conductor_words('E', s.installation.region)} contact at {p} to it with "
        f"the {t}; touch neither.",
    ],
    "drop": lambda c, s, p, t: [
        f"Measure from the {one(c, s)} core to the terminal it enters with the {t}; then switch "
        "the load off."
    ],
    "ring": lambda c, s, p, t: [
        f"Measure from one end to the other of the {one(c, s)} with the {t}."
    ],
    "parted": lambda c, s, p, t: [
        f"Measure from the lifted {one(c, s)} to its bar with the {t}; over range is sound."
    ],
    "clamp": lambda c, s, p, t: [f"Clamp the {one(c, s)} of {c.circuit} together with the {t}."],
    "leg clamp": lambda c, s, p, t: [
        f"Clamp the {one(c, s)} of the leg {leg(c)} alone with the {t}."
    ],
    "ramp": lambda c, s, p, t: [
        f"Plug the {t} in at {p}; ramp {c.reading.of if c.reading else ''}; note the current."
    ],
    "lamps": lambda c, s, p, t: [f"Plug the {t} in at {p}; note its three lamps."],
    "open": lambda c, s, p, t: [
        f"Look for heat, damage and bare copper at {p}; tug each conductor."
    ],
    "tone": lambda c, s, p, t: [
        f"Send a tone along the {one(c, s)} of {c.circuit} from the {board_words(s)}; follow it "
        "with the wand to where it ends; open it there and look."
    ],
    "thermal": lambda c, s, p, t: [
        *(["Leave the usual load on for ten minutes."] if not s.state.warm else []),
        f"Take a picture of heat of {p}, covers closed: warmer than its like is found.",
    ],
    "remake": lambda c, s, p, t: [
        f"Cut back, clean and remake every joint at {p}; tug each; then test again."
    ],
    "renew": lambda c, s, p, t: [
        f"Disconnect both ends of {c.what}; bridge or renew it; then test again."
    ],
    "call": lambda c, s, p, t: [
        f"Keep off metalwork; call {regional(c.what, s.region)}; tell them what was measured."
    ],
    "elsewhere": lambda c, s, p, t: [
        f"Take the {load_name(c.what)} from {p} to an outlet known to be good; try it."
    ],
    "appliance": lambda c, s, p, t: [
        f"Unplug the {load_name(c.what)} at {p}.",
        f"At its plug measure {_plug_pins(s)} with the {t}: next to nothing, or under "
        f"{print_ohms(1e6)} to {'ground' if s.region == 'na' else 'earth'}, is found.",
    ],
    "meter": lambda c, s, p, t: [
        "Prove the instrument, with both leads, on a known source; touch its leads together."
    ],
    "question": lambda c, s, p, t: [f"Ask or see whether the {load_name(c.what)} at {p} works."],
    "devices": lambda c, s, p, t: [
        f"Look at {c.what}: does each stand as described? Close none that has tripped; enter it."
    ],
    "isolate": lambda c, s, p, t: [],
}


def _plug_pins(site: Site) -> str:
    region = site.installation.region
    line, neutral, earth = (conductor_words(key, region) for key in "LNE")
    return f"{line} to {neutral}, and each to {earth}"


def _measure(check: Check, site: Site) -> list[str]:
    tool = instrument(check.instrument).title(site.region) if check.instrument else ""
    return _MEASURE.get(check.kind, _pairwise)(check, site, where(check, site), tool)


def isolation(site: Site) -> list[str]:
    """The isolation steps, numbered by their order; short where it is already isolated.

    After an alarm they are told in full beside every check, until it is answered.
    """
    if site.state.isolated and not site.alarm:
        return [
            "See that it is still locked off; prove dead again on every pair and to a proved "
            f"{'ground' if site.region == 'na' else 'earth'}, the detector proved before and after."
        ]
    pairs = "Prove dead between every pair, and line and neutral each to a proved earth."
    if site.region == "na":
        pairs = "Prove dead between every pair, and hot and neutral each to a proved ground."
    board = board_words(site)
    sources = ", ".join(site.sources)
    also = f" and {sources}, each at its own isolation point" if sources else ""
    return [
        f"Switch off the main switch at the {board}{also}; lock it and put up a notice.",
        "Prove the two-pole detector on a known source.",
        pairs,
        "Prove the detector again.",
    ]
