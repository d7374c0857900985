"""Joints and contacts: where a core meets a terminal, where a plug meets a socket's contacts."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.faults.fault import Family, Fault, Severity
from halfsplit.faults.grids import ALIKE, LOOSE, WORN, Grid, filmed, in_series, opened, shared
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import Scene, make, survey
from halfsplit.faults.words import joined
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Element, Plan


def _joint(
    scene: Scene, joint: Element, family: str, row: str, severities: tuple[Severity, ...]
) -> Fault:
    run = scene.runs.get(joint.run)
    ends = (run.start, run.end) if run else ()
    other = next((end for end in ends if end != joint.at[0]), "")
    return make(
        family, joint.id, (joint.conductor,), joint.at, severities,
        scene.weigh(row, *joint.at, run=joint.run, times=scene.joint_factor(joint)),
        (joint.id,), joint.circuit, place=joint.at[0], other=other, run=joint.run,
        a=joint.a, b=joint.b,
    )  # fmt: skip


def open_joints(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Every joint of every conductor, open."""
    scene = survey(installation, plan)
    for joint in scene.kind("joint"):
        yield _joint(scene, joint, "open joint", "open joint", opened(joint.id))


def loose_joints(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Every joint of every conductor, with resistance it should not have."""
    scene = survey(installation, plan)
    for joint in scene.kind("joint"):
        yield _joint(scene, joint, "loose joint", "loose joint", in_series(LOOSE, joint.id))


def open_contacts(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Every front contact that no longer touches the plug's pin."""
    scene = survey(installation, plan)
    for contact in scene.kind("contact"):
        yield _joint(scene, contact, "contact open", "contact open", opened(contact.id))


TARNISHED = 0.4  # share of bad contacts that are filmed over and not slack: judgement


def _bad(grid: Grid, *contacts: str) -> tuple[Severity, ...]:
    """Contacts grown slack, or filmed over, one severity for all of them."""
    return shared((in_series(grid, *contacts), 1 - TARNISHED), (filmed(*contacts), TARNISHED))


def worn_contacts(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Every front contact that grips the plug's pin badly, or is tarnished."""
    scene = survey(installation, plan)
    for contact in scene.kind("contact"):
        yield _joint(scene, contact, "worn contact", "worn contact", _bad(WORN, contact.id))


def _named(places: tuple[str, ...]) -> str:
    """Places by name, or how many where that would be a long list."""
    few = len(places) <= 6
    return joined(places) if few else f"all {len(places)} from {places[0]} to {places[-1]}"


def worn_alike(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """All the front contacts of a circuit's like accessories: of one make, age and use."""
    scene = survey(installation, plan)
    like: dict[tuple[str, str], list[Element]] = {}
    for contact in scene.kind("contact"):
        kind = scene.points[contact.at[0]].kind
        like.setdefault((contact.circuit, kind), []).append(contact)
    for (circuit, kind), contacts in like.items():
        places = tuple(dict.fromkeys(contact.at[0] for contact in contacts))
        if len(places) < 2:
            continue
        # What is said of one of them does not make the others worn.
        weight = min(scene.weigh("worn alike", place) for place in places)
        yield make(
            "worn alike", f"{circuit} {kind}", tuple(dict.fromkeys(c.conductor for c in contacts)),
            places, _bad(ALIKE, *(c.id for c in contacts)), weight,
            tuple(c.id for c in contacts), circuit, place=places[0], own=circuit,
            other=_named(places), a=contacts[0].a, b=contacts[0].b,
        )  # fmt: skip


def open_bonds(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Every bonding conductor or known path that no longer joins what it should."""
    scene = survey(installation, plan)
    known = {f"path {path.name}" for path in installation.paths if path.certain}
    for e in plan.elements:
        if e.id in known:
            yield make(
                "bond open", e.id, ("E",), e.at, opened(e.id), scene.weigh("bond open", *e.at),
                (e.id,), place=e.at[0], a=e.a, b=e.b,
            )  # fmt: skip


FAMILIES = (
    Family(
        "open joint",
        "Open joint",
        "The {conductors} joint at {place} is open: {a} no longer meets {b}.",
        rate("open joint").words,
        ("broken core", "loose joint", "pole open", "contact open"),
        "Prove dead, then measure continuity of the {conductors} conductor across {place}: from "
        "the core to the terminal it should be a few milliohms.",
        "The joint is remade: continuity of every conductor landed there, insulation, polarity, "
        "and the joint's pull and tightness.",
        open_joints,
    ),
    Family(
        "loose joint",
        "High-resistance joint",
        "The {conductors} joint at {place} has resistance: {a} meets {b} badly.",
        rate("loose joint").words,
        ("open joint", "damaged core", "worn contact", "pole burnt", "supply neutral poor"),
        "Compare volts at {place} with and without a load beyond it, or prove dead and measure "
        "across the joint; look for heat and scorching.",
        "The joint is remade on clean metal: continuity, polarity, and insulation if it was hot.",
        loose_joints,
    ),
    Family(
        "contact open",
        "Front contact open",
        "The {conductors} contact of the {socket} at {place} does not touch the plug.",
        rate("contact open").words,
        ("open joint", "worn contact", "open flex"),
        "The terminals behind {place} read right while the front does not.",
        "The accessory is changed: continuity, polarity and insulation at that point, and that "
        "the points beyond it still work.",
        open_contacts,
    ),
    Family(
        "worn contact",
        "Worn front contact",
        "The {conductors} contact of the {socket} at {place} grips badly or is tarnished.",
        rate("worn contact").words,
        ("loose joint", "contact open", "open flex"),
        "Read the same pair at the front and at the terminals behind: a difference under load, or "
        "of resistance when dead, is in the contacts; one that only the dead test shows is a film.",
        "The accessory is changed: continuity, polarity and insulation at that point.",
        worn_contacts,
    ),
    Family(
        "worn alike",
        "Front contacts worn alike",
        "The {conductors} contacts of {other} on {own} are worn or tarnished alike.",
        rate("worn alike").words,
        ("worn contact", "loose joint", "damaged core"),
        "At each {socket}, read the same pair at the front and behind, prove dead for ohms: the "
        "front is higher by much the same everywhere. What a load or a high-current loop test does "
        "not show is a film.",
        "The accessories are changed: continuity, polarity and insulation at each point.",
        worn_alike,
    ),
    Family(
        "bond open",
        "Bonding conductor open",
        "The bonding path {place} does not join {a} to {b}.",
        rate("bond open").words,
        ("supply earth lost", "electrode poor"),
        "Prove dead and measure continuity between the two ends of the bond with its clamp on.",
        "The bond is remade: its continuity, before anything else is energised.",
        open_bonds,
    ),
)
