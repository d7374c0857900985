"""What checks are called and how they are done, in the region's words."""

from __future__ import annotations

from dataclasses import replace

from halfsplit.checks.check import Check
from halfsplit.checks.site import Site
from halfsplit.faults.words import conductor_words, place_words, vocabulary
from halfsplit.instruments.catalogue import instrument
from halfsplit.quantity import ohms as print_ohms

UNCHANGED = ("question", "devices", "meter", "elsewhere", "call")  # nothing is switched for them


def _pair(check: Check, site: Site) -> str:
    return " to ".join(conductor_words(k, site.installation.region) for k in check.what.split("-"))


def _one(check: Check, site: Site) -> str:
    return " and ".join(conductor_words(k, site.installation.region) for k in check.what.split("+"))


def _load(check: Check) -> str:
    """A load's own name, without its place."""
    return check.what.partition("/")[2] or check.what


def what(check: Check, site: Site) -> str:
    """One line: what is measured, looked at or asked."""
    kind = check.kind
    if kind in ("volts", "open volts", "loaded volts"):
        said = f"volts, {_pair(check, site)}"
        return f"{said}, with the low-impedance range" if kind == "loaded volts" else said
    if kind == "board volts":
        return f"volts, {_pair(replace(check, what='L-N'), site)} {check.what}"
    if kind == "loop":
        return f"loop impedance, {_pair(check, site)}"
    if kind == "lamps":
        return "what the plug-in tester's three lamps show"
    if kind == "clamp":
        return f"current in the {_one(check, site)} of {check.circuit}"
    if kind == "lead":
        return f"continuity of the {_one(check, site)} from the board"
    if kind == "link":
        back = check.what.split("-")[1]
        name = {"E": " (R1+R2)", "N": " (R1+Rn)"}.get(back, "")
        return f"continuity {_pair(check, site)}{name}, linked at the board"
    if kind == "ring":
        return f"end to end of the ring's {_one(check, site)}"
    if kind == "insulation":
        return f"insulation of {check.circuit}, {_pair(check, site)}"
    if kind == "joint":
        return f"continuity across the {_one(check, site)} joint"
    return {
        "question": f"does the {_load(check)} work",
        "holds": f"does {check.what.replace('without all', 'with everything out')} hold",
        "devices": "do all devices and switches stand as described",
        "meter": "does the instrument read right on a known source",
        "elsewhere": f"does the {_load(check)} behave the same where the supply is known good",
        "open": "open it isolated, look, and tug every conductor",
        "remake": "make every joint there anew",
        "renew": f"bridge the cable {check.what}, or draw it anew",
        "call": f"call {check.what}",
        "isolate": "isolate, keep people away, prove dead",
    }.get(kind, kind)


def where(check: Check, site: Site) -> str:
    """The place in the region's words."""
    return place_words(check.where, site.installation.region)


def conditions(check: Check, site: Site) -> str:
    """The conditions in a few words."""
    c, board = check.conditions, _board(site)
    if check.kind in UNCHANGED:
        return "as things stand"
    said = ["isolated and proved dead" if c.dead else "energised"]
    if "all" in c.unplugged:
        said.append("everything unplugged or switched off")
    elif not c.dead:
        said.append("loads as described")
    for place, _, watts in c.added:
        said.append(f"a {watts:.0f} W lamp plugged in at {place}")
    if c.links:
        said.append(f"{_pair(check, site)} linked at the {board}")
    if c.lifted:
        said.append(f"{_lifted(check, site)} lifted at the {board}")
    return ", ".join(said)


def _lifted(check: Check, site: Site) -> str:
    keys = dict.fromkeys(joint.removeprefix(f"joint {check.where} ").split(" ", 1)[0]
                         for joint in check.conditions.lifted)  # fmt: skip
    return " and ".join(conductor_words(k, site.installation.region) for k in keys)


def steps(check: Check, site: Site) -> tuple[str, ...]:
    """What to do, in order; the change of conditions first."""
    region, board = site.installation.region, _board(site)
    c, place, said = check.conditions, where(check, site), []
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
    for spot, _, watts in c.added:
        said.append(f"Plug a {watts:.0f} W filament lamp in at {spot}, switched on.")
    if c.links:
        line = conductor_words(check.what.split("-")[0], region)
        said.append(f"Lift the {line} from its device at the {board}.")
        said.append(f"Link {_pair(check, site)} of {check.circuit} there; note the link as open.")
    if c.lifted:
        said.append(f"Lift the {_lifted(check, site)} at the {board}; note each as open.")
    if check.access == "cover" or check.kind == "open":
        said.append(f"Take off the cover at {place}.")
    said += _measure(check, site, place)
    if check.kind == "insulation":
        said.append("Discharge the conductors.")
    return tuple(said)


def _measure(check: Check, site: Site, place: str) -> list[str]:
    kind = check.kind
    tool = instrument(check.instrument).title(site.region) if check.instrument else ""
    if kind in ("volts", "open volts", "loaded volts", "loop", "insulation", "link"):
        return [f"Measure {_pair(check, site)} at {place} with the {tool}."]
    if kind == "board volts":
        return [f"Take off the {_board(site)}'s cover; measure {check.what} with the {tool}."]
    if kind == "lead":
        return [
            f"Join a long lead to the {_one(check, site)} of {check.circuit} at the "
            f"{_board(site)}; null it.",
            f"Measure from the lead to the {_one(check, site)} at {place} with the {tool}.",
        ]
    if kind == "ring":
        return [f"Measure from one end to the other of the {_one(check, site)} with the {tool}."]
    if kind == "clamp":
        return [f"Clamp the {_one(check, site)} of {check.circuit} together with the {tool}."]
    if kind == "lamps":
        return [f"Plug the {tool} in at {place}; note its three lamps."]
    if kind == "joint":
        return [
            f"Measure from the bare {_one(check, site)} core to the terminal it enters, with the "
            f"{tool}: {print_ohms(0.05)} or less is sound."
        ]
    if kind == "open":
        return [f"Look for heat, damage and bare copper at {place}; tug each conductor."]
    if kind == "remake":
        return [f"Cut back, clean and remake every joint at {place}; tug each; then test again."]
    if kind == "renew":
        return [f"Disconnect both ends of {check.what}; bridge or renew it; then test again."]
    if kind == "call":
        return [f"Keep off metalwork; call {check.what} and tell them what was measured."]
    if kind == "elsewhere":
        return [f"Take the {_load(check)} from {place} to an outlet known to be good; try it."]
    if kind == "meter":
        return [
            "Prove the instrument, with both leads, on a known source; touch its leads together."
        ]
    if kind == "question":
        return [f"Ask or see whether the {_load(check)} at {place} works."]
    if kind == "holds":
        device, _, out = check.what.partition(" without ")
        gone = "everything behind it" if out == "all" else out
        return [f"Unplug {gone}.", f"Close {device} once; see whether it holds. Do not repeat it."]
    if kind == "devices":
        return ["Look at every device and switch: does each stand as described?"]
    return []


def _board(site: Site) -> str:
    return vocabulary(site.installation.region)["board"]


def regional(text: str, region: str) -> str:
    """A text of this room in the region's words; places are filled in afterwards."""
    if region == "na":
        for ours, theirs in _AMERICAN:
            text = text.replace(ours, theirs)
    return text


_AMERICAN = (
    ("protective conductor", "equipment ground"),
    ("earth", "ground"),
    ("network operator", "utility"),
)


def isolation(site: Site) -> list[str]:
    """The isolation steps, numbered by their order; short where it is already isolated."""
    if site.state.isolated:
        return [
            "See that it is still locked off; prove dead again on every pair and to a proved "
            f"{'ground' if site.region == 'na' else 'earth'}, the detector proved before and after."
        ]
    pairs = "Prove dead between every pair, and line and neutral each to a proved earth."
    if site.region == "na":
        pairs = "Prove dead between every pair, and hot and neutral each to a proved ground."
    board = _board(site)
    sources = ", ".join(site.sources)
    also = f" and {sources}, each at its own isolation point" if sources else ""
    return [
        f"Switch off the main switch at the {board}{also}; lock it and put up a notice.",
        "Prove the two-pole detector on a known source.",
        pairs,
        "Prove the detector again.",
    ]
