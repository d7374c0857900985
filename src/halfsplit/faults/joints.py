"""Joints and contacts: where a core meets a terminal, where a plug meets a socket's contacts."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.faults.fault import Family, Fault, Severity
from halfsplit.faults.grids import LOOSE, WORN, in_series, opened
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import Scene, make, survey
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
        yield _joint(scene, joint, "loose joint", "loose joint", in_series(joint.id, LOOSE))


def open_contacts(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Every front contact that no longer touches the plug's pin."""
    scene = survey(installation, plan)
    for contact in scene.kind("contact"):
        yield _joint(scene, contact, "contact open", "contact open", opened(contact.id))


def worn_contacts(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Every front contact that grips the plug's pin badly."""
    scene = survey(installation, plan)
    for contact in scene.kind("contact"):
        yield _joint(scene, contact, "worn contact", "worn contact", in_series(contact.id, WORN))


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
        "The {conductors} contact of the {socket} at {place} grips badly.",
        rate("worn contact").words,
        ("loose joint", "contact open", "open flex"),
        "Read the same pair at the front and at the terminals behind: a difference under load, or "
        "of resistance when dead, is in the contacts.",
        "The accessory is changed: continuity, polarity and insulation at that point.",
        worn_contacts,
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
