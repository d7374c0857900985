"""What checks are called, in the region's words; no id and no letter shows."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from halfsplit.checks.check import Check
from halfsplit.checks.site import Site
from halfsplit.faults.words import conductor_words, joined, place_words, vocabulary

UNCHANGED = (
    "question",
    "ask",
    "devices",
    "meter",
    "elsewhere",
    "appliance",
    "call",
)  # nothing is switched


def pair(check: Check, site: Site) -> str:
    """The two conductors of a check: "line to neutral"; joined ones as "line and neutral"."""
    region = site.installation.region
    ends = (joined(tuple(conductor_words(k, region) for k in end.split("+")))
            for end in check.what.split("-"))  # fmt: skip
    return " to ".join(ends)


def one(check: Check, site: Site) -> str:
    """The conductor, or conductors together, of a check."""
    region = site.installation.region
    return joined(tuple(conductor_words(k, region) for k in check.what.split("+")))


def load_words(id: str) -> str:
    """A load by its own name and place: "kettle at Sink"."""
    place, _, name = id.partition("/")
    return f"{name} at {place}" if name else place


def load_name(id: str) -> str:
    """A load's own name, its place known already."""
    return id.partition("/")[2] or id


def without(check: Check) -> tuple[str, str]:
    """(the device a check closes, what is out meanwhile, in words)."""
    device, _, out = check.what.partition(" without ")
    return device, "everything" if out == "all" else f"the {load_words(out)}"


def _volts(check: Check, site: Site) -> str:
    said = f"volts, {pair(check, site)}"
    return f"{said}, with the low-impedance range" if check.kind == "loaded volts" else said


def _board_volts(check: Check, site: Site) -> str:
    region = site.installation.region
    return f"volts, {conductor_words('L', region)} to neutral {check.what}"


def _linked(check: Check, site: Site) -> str:
    name = {"E": " (R1+R2)", "N": " (R1+Rn)"}.get(check.what.split("-")[1], "")
    return f"continuity {pair(check, site)}{name}, linked at the board"


def _holds(check: Check, site: Site) -> str:
    device, out = without(check)
    return f"does {device} hold with {out} out"


def _ask(check: Check, site: Site) -> str:
    if check.what == "after works":
        return "did it begin after works or changes nearby"
    return "is anything plugged in or connected that was not mentioned"


def leg(check: Check) -> str:
    """The run at whose end a ring's leg begins, as its places."""
    assert check.reading is not None
    ids = check.reading.conductors or (check.reading.a,)
    return ids[0].removeprefix("core ").rpartition(" ")[0] or ids[0].partition(":")[2]


_WHAT: dict[str, Callable[[Check, Site], str]] = {
    "volts": _volts,
    "open volts": _volts,
    "loaded volts": _volts,
    "volts under load": _volts,
    "board volts": _board_volts,
    "earth volts": lambda c, s: (
        f"volts, {conductor_words('E', s.installation.region)} to an independent earth"
    ),
    "drop": lambda c, s: f"millivolts across the {one(c, s)} joint, under load",
    "loop": lambda c, s: f"loop impedance, {pair(c, s)}",
    "ramp": lambda c, s: f"ramp of {c.reading.of if c.reading else 'the residual device'}",
    "lamps": lambda c, s: "what the plug-in tester's three lamps show",
    "clamp": lambda c, s: f"current in the {one(c, s)} of {c.circuit}",
    "leg clamp": lambda c, s: f"current in the {one(c, s)} of the leg {leg(c)}",
    "lead": lambda c, s: f"continuity of the {one(c, s)} from the board",
    "link": _linked,
    "ring": lambda c, s: f"end to end of the ring's {one(c, s)}",
    "leg": lambda c, s: f"continuity of the {one(c, s)} from the ring's end {leg(c)}",
    "parted": lambda c, s: f"from the lifted {one(c, s)} of {c.circuit} to its bar",
    "insulation": lambda c, s: f"insulation of {c.circuit}, {pair(c, s)}",
    "between": lambda c, s: f"ohms of {c.circuit}, {pair(c, s)}",
    "split": lambda c, s: (
        f"{'ohms' if c.what.startswith('L-') else 'insulation'} beyond there, {pair(c, s)}"
    ),
    "appliance": lambda c, s: f"the {load_name(c.what)} measured at its plug",
    "joined insulation": lambda c, s: f"insulation of {c.circuit}, {pair(c, s)}, at 250 V",
    "joint": lambda c, s: f"continuity across the {one(c, s)} joint",
    "tone": lambda c, s: f"where a tone on the {one(c, s)} of {c.circuit} ends",
    "thermal": lambda c, s: "a picture of heat, under load",
    "question": lambda c, s: f"does the {load_name(c.what)} work",
    "ask": _ask,
    "holds": _holds,
    "devices": lambda c, s: f"does {c.what} stand as described",
    "meter": lambda c, s: "does the instrument read right on a known source",
    "elsewhere": lambda c, s: (
        f"does the {load_name(c.what)} behave the same where the supply is known good"
    ),
    "open": lambda c, s: f"{opening(c, s)}, isolated; look, and tug every conductor",
    "remake": lambda c, s: "make every joint there anew",
    "renew": lambda c, s: f"bridge the cable {c.what}, or draw it anew",
    "call": lambda c, s: f"call {c.what}",
    "isolate": lambda c, s: "isolate, keep people away, prove dead",
}


def what(check: Check, site: Site) -> str:
    """One line: what is measured, looked at or asked."""
    return regional(_WHAT[check.kind](check, site), site.region)


def opening(check: Check, site: Site) -> str:
    """How one gets at the terminals there: a cover, a floor, the loft."""
    behind = site.behind(check.where)
    if check.access == "board":
        return f"open the {board_words(site)}"
    return {"floor": "lift the floor by it", "loft": "go up to it in the loft"}.get(
        behind, "open it"
    )


def looked_at(checks: Sequence[Check], site: Site) -> str:
    """What to do now that measuring stops: "open Hall or Landing and look"."""
    opened = [where(check, site) for check in checks if check.kind == "open"]
    said = [f"open {' or '.join(opened)} and look"] if opened else []
    said += [what(check, site) for check in checks if check.kind == "call"]
    made = [brief(check, site) for check in checks if check.kind in ("remake", "renew")]
    return ", or ".join([*said, *made])


def brief(check: Check, site: Site) -> str:
    """A look or a mend in a few words, with its place."""
    place = where(check, site)
    said = {
        "open": f"opening {place}",
        "remake": f"making the joints at {place} anew",
        "renew": f"renewing {check.what}",
        "call": f"calling {check.what}",
        "devices": f"looking at {check.what}",
        "meter": "proving the instrument",
        "elsewhere": f"trying the {load_name(check.what)} elsewhere",
    }.get(check.kind)
    return regional(said or f"{what(check, site)} at {place}", site.region)


def where(check: Check, site: Site) -> str:
    """The place in the region's words."""
    return place_words(check.where, site.installation.region)


def conditions(check: Check, site: Site) -> str:
    """The conditions in a few words."""
    c = check.conditions
    if check.kind in UNCHANGED:
        return "as things stand"
    said = ["isolated and proved dead" if c.dead else "energised"]
    if "all" in c.unplugged:
        said.append("everything unplugged or switched off")
    elif not c.dead:
        said.append("loads as described")
    elif check.kind == "joined insulation":
        said.append("everything may stay in")
    for place, kind, watts in c.added:
        said.append(f"a {watts:.0f} W {added_words(kind)} plugged in at {place}")
    for place, lifted in lifted_words(check, site):
        said.append(f"{lifted} lifted at {place}")
    if c.links:
        said.append("{} linked at {}".format(*linked_words(check, site)))
    return ", ".join(said)


def added_words(kind: str) -> str:
    """A load plugged in for a check."""
    return "lamp" if kind == "filament" else kind


def linked_words(check: Check, site: Site) -> tuple[str, str]:
    """(the conductors that a link joins, where)."""
    ends = [end for link in check.conditions.links for end in link]
    place = ends[0].rpartition(".")[0]
    keys = dict.fromkeys(end.rpartition(".")[2].partition(":")[0] for end in ends)
    said = " to ".join(conductor_words(k, site.installation.region) for k in keys)
    return said, place if place in site.points else f"the {board_words(site)}"


def lifted_keys(check: Check, site: Site) -> dict[str, tuple[str, ...]]:
    """The conductors that are parted for a check, by place."""
    joints = {e.id: e for e in site.plan.elements if e.kind == "joint"}
    found: dict[str, tuple[str, ...]] = {}
    for id in check.conditions.lifted:
        place, key = joints[id].at[0], joints[id].conductor
        found[place] = tuple(dict.fromkeys((*found.get(place, ()), key)))
    return found


def parts_neutral(check: Check, site: Site) -> bool:
    """Whether a neutral comes out of its terminal for it."""
    if check.kind in ("remake", "renew"):
        spots = (spot for spot in site.plan.spots if spot.name == check.where)
        return any("N" in spot.conductors for spot in spots)
    return any("N" in keys for keys in lifted_keys(check, site).values())


def lifted_words(check: Check, site: Site) -> list[tuple[str, str]]:
    """The same in words: (where, conductors)."""
    region, points = site.installation.region, site.points
    return [
        (place if place in points else f"the {board_words(site)}",
         joined(tuple(conductor_words(k, region) for k in keys)))
        for place, keys in lifted_keys(check, site).items()
    ]  # fmt: skip


def board_words(site: Site) -> str:
    """What a board is called here."""
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
