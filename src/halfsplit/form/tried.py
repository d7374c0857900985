"""Mends with the symptom still there: each becomes a word of history where it was made.

What was renewed without effect is hardly the cause, so it is said of the place as a person would.
"""

from __future__ import annotations

from dataclasses import replace

from halfsplit.form.after import After, Mended
from halfsplit.wiring.model import Circuit, Installation, Point

IN_VAIN = "without effect"


def with_tried(installation: Installation, after: After) -> Installation:
    """The installation with its history, where the last look at the symptom found it still there;
    as it was otherwise."""
    looks = [test.seen for test in after.tests if test.test == "symptom"]
    if looks[-1:] != ["still there"]:
        return installation
    for mend in after.mends:
        installation = _told(installation, mend)
    return installation


def _told(inst: Installation, mend: Mended) -> Installation:
    if mend.kind in ("electrode", "link", "supply"):
        said = _more(inst.supply.history, f"{mend.kind} mended")
        return replace(inst, supply=replace(inst.supply, history=said))
    boards = inst.boards
    if mend.kind == "device":
        boards = tuple(
            replace(b, history=_more(b.history, "device changed"))
            if mend.part in (b.main.name, *(g.device.name for g in b.groups)) else b
            for b in boards
        )  # fmt: skip
    return replace(inst, boards=boards, circuits=tuple(_circuit(c, mend) for c in inst.circuits))


def _circuit(circuit: Circuit, mend: Mended) -> Circuit:
    runs, history = circuit.runs, circuit.history
    if mend.kind == "cable":
        runs = tuple(replace(r, exposed=_more(r.exposed, "cable mended")) if r.name == mend.part
                     else r for r in runs)  # fmt: skip
    if mend.kind == "device" and mend.part == circuit.device.name:
        history = _more(history, "device changed")
    points = tuple(_point(point, mend) for point in circuit.points)
    return replace(circuit, runs=runs, points=points, history=history)


def _point(point: Point, mend: Mended) -> Point:
    did = {"accessory": "accessory changed", "load": "appliance mended",
           "joint": f"{' and '.join(mend.conductors)} joint remade"}.get(mend.kind, "")  # fmt: skip
    place = mend.part.partition("/")[0] if mend.kind == "load" else mend.place
    if mend.kind == "device" and point.device is not None and point.device.name == mend.part:
        did, place = "device changed", point.name
    return (
        replace(point, history=_more(point.history, did)) if did and place == point.name else point
    )


def _more(history: tuple[str, ...], did: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*history, f"{did} {IN_VAIN}")))
