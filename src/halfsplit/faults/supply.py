"""The supply and its earthing: lost and poor conductors, electrodes, links, voltage, polarity."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from halfsplit.faults.crossings import parted
from halfsplit.faults.fault import Family, Fault, Severity
from halfsplit.faults.grids import POOR_ROD, SERVICE, across, in_series, once, opened
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import LIVE_KEYS, make, survey
from halfsplit.wiring.effects import Bridged, Scaled
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import EARTH, Element, Plan

# What the origin may read against nominal, as a factor, with shares (judgement).
VOLTAGE = ((0.80, 0.10), (0.87, 0.20), (0.92, 0.25), (1.08, 0.25), (1.15, 0.15), (1.30, 0.05))

# A line to earth somewhere on the network, ohms and shares: with a transformer's earth of a few
# ohms these lift its neutral by some tens of volts to a few (judgement).
ELSEWHERE = ((20.0, 0.25), (60.0, 0.35), (200.0, 0.40))
# Houses that share a broken combined conductor; what the others draw from each line, W; and the
# ohms of their earths together: some balanced, some not, since the heavier line decides which way
# it is pulled, and good or poor earths how far (judgement).
STREETS = (
    (2, (1000.0, 0.0, 0.0), 50.0),
    (3, (700.0, 700.0, 700.0), 30.0),
    (3, (200.0, 4000.0, 300.0), 100.0),
    (4, (300.0, 3000.0, 3000.0), 100.0),
    (8, (6000.0, 1000.0, 1000.0), 20.0),
    (20, (9000.0, 12000.0, 6000.0), 2.0),
)

Finder = Callable[[Installation, Plan], Iterator[Fault]]

_ROLES = {"N": "neutral", "PEN": "combined conductor", "E": "earth"}


def _lost(element: Element, family: str, weight: float, poor: bool) -> Fault:
    steps = in_series(SERVICE, element.id) if poor else opened(element.id)
    return make(
        family, element.id, (element.conductor,), ("origin",), steps, weight, (element.id,),
        place="origin", a=element.a, b=element.b,
    )  # fmt: skip


def _service(installation: Installation, plan: Plan, role: str, poor: bool) -> Iterator[Fault]:
    """The service conductors of one role, lost or resistive."""
    scene = survey(installation, plan)
    name = role if role == "combined conductor" else f"supply {role}"
    family = f"{name} {'poor' if poor else 'lost'}"
    for e in scene.kind("service"):
        if _ROLES.get(e.conductor, "line") == role:
            yield _lost(e, family, scene.weigh(family), poor)


def lost_lines(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each line, leg or phase of the supply, lost."""
    return _service(installation, plan, "line", False)


def poor_lines(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each line, leg or phase of the supply, resistive."""
    return _service(installation, plan, "line", True)


def lost_neutrals(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The supply's neutral, lost (earthing kept apart)."""
    return _service(installation, plan, "neutral", False)


def poor_neutrals(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The supply's neutral, resistive."""
    return _service(installation, plan, "neutral", True)


def lost_combined(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The combined neutral and earth conductor, lost."""
    return _service(installation, plan, "combined conductor", False)


def poor_combined(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The combined neutral and earth conductor, resistive."""
    return _service(installation, plan, "combined conductor", True)


def lost_earths(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The supply's protective conductor, lost."""
    return _service(installation, plan, "earth", False)


def poor_earths(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The supply's protective conductor, resistive."""
    return _service(installation, plan, "earth", True)


def poor_electrodes(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The installation's own electrode, high or disconnected."""
    scene = survey(installation, plan)
    for e in scene.kind("electrode"):
        if e.at == ("source",):
            continue  # the network operator's own
        steps = tuple(Severity(s.name, s.effects, s.share * 0.8) for s in in_series(POOR_ROD, e.id))
        steps += tuple(Severity(s.name, s.effects, 0.2) for s in opened(e.id))
        yield make(
            "electrode poor", e.id, ("E",), ("origin",), steps, scene.weigh("electrode poor"),
            (e.id,), place="origin", a=e.a, b=e.b,
        )  # fmt: skip


def missing_links(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """A link of the drawing that was never made: neutral-earth at the origin, or another."""
    scene = survey(installation, plan)
    for e in scene.kind("link"):
        place = e.at[0] if e.at else "origin"
        yield make(
            "link missing", e.id, ("N", "E") if place == "origin" else (e.conductor,), (place,),
            opened(e.id), scene.weigh("link missing", place), (e.id,), e.circuit, place=place,
            a=e.a, b=e.b,
        )  # fmt: skip


def wrong_voltage(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The whole supply high or low."""
    scene = survey(installation, plan)
    sources = [e for e in scene.kind("source") if e.at == ("source",)]
    if sources:
        steps = tuple(
            Severity(f"{factor - 1:+.0%}", tuple(Scaled(e.id, factor) for e in sources), share)
            for factor, share in VOLTAGE
        )
        yield make(
            "supply voltage", "all lines", tuple(e.conductor for e in sources), ("origin",), steps,
            scene.weigh("supply voltage"), (), place="origin",
        )  # fmt: skip


def primary_phases_lost(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each phase lost ahead of a three-phase transformer: two lines at half, the third whole.

    Of a delta winding with one line open, two limbs stand in series across the other two lines,
    so two secondary phases have half the third's voltage, turned the other way.
    """
    if installation.supply.live != "three":
        return
    scene = survey(installation, plan)
    sources = [e for e in scene.kind("source") if e.at == ("source",)]
    for whole in sources:
        halves = [e for e in sources if e is not whole]
        turned = (Scaled(e.id, -whole.emf / (2.0 * e.emf)) for e in halves)
        yield make(
            "primary phase lost", f"{whole.conductor} whole",
            tuple(e.conductor for e in halves), ("origin",), once("lost", *turned),
            scene.weigh("primary phase lost"), (), place="origin", how=whole.conductor,
        )  # fmt: skip


def networks_off_earth(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The network's own neutral standing off true earth, by a fault elsewhere on it."""
    scene = survey(installation, plan)
    line = next((e for e in scene.kind("source") if e.at == ("source",)), None)
    if line is not None and "source electrode" in scene.elements:
        yield make(
            "network off earth", "neutral", ("N", "E"), ("origin",),
            across(line.b, EARTH, ELSEWHERE), scene.weigh("network off earth"), (),
            place="origin", a="source.N", b=EARTH,
        )  # fmt: skip


def lost_upstream(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The combined conductor broken before several houses, whose loads and earths go on sharing
    what is left of it."""
    scene = survey(installation, plan)
    pen = next((e for e in scene.kind("service") if e.conductor == "PEN"), None)
    sources = [e.b for e in scene.kind("source") if e.at == ("source",)]
    if pen is None or not sources:
        return
    steps = []
    for houses, watts, earth in STREETS:
        loads = (
            Bridged(line, pen.b, w / plan.volts**2)
            for line, w in zip(sources, watts, strict=False) if w
        )  # fmt: skip
        earths = Bridged("origin.E", EARTH, 1.0 / earth)
        name = f"{houses} houses, {'/'.join(f'{w / 1000:g}' for w in watts)} kW"
        steps.append(Severity(name, (parted(pen.id), *loads, earths), 1.0 / len(STREETS)))
    yield make(
        "combined conductor lost upstream", pen.id, ("PEN",), ("origin",), tuple(steps),
        scene.weigh("combined conductor lost upstream"), (pen.id,), place="origin", a=pen.a,
        b=pen.b,
    )  # fmt: skip


def reversed_supply(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each line exchanged with neutral at the origin."""
    scene = survey(installation, plan)
    services = {e.conductor: e for e in scene.kind("service")}
    neutral = services.get("N") or services.get("PEN")
    for key in LIVE_KEYS:
        line = services.get(key)
        if line is None or neutral is None:
            continue
        crossed = (
            parted(line.id), parted(neutral.id),
            Bridged(line.a, neutral.b, 1.0 / max(line.ohms, 1e-3)),
            Bridged(neutral.a, line.b, 1.0 / max(neutral.ohms, 1e-3)),
        )  # fmt: skip
        yield make(
            "supply reversed", f"{line.id} with {neutral.id}", (key, neutral.conductor),
            ("origin",), once("reversed", *crossed), scene.weigh("supply reversed", "origin"),
            (line.id, neutral.id), place="origin", a=line.b, b=neutral.b,
        )  # fmt: skip


OPERATOR = (
    "The network operator mends it; then supply voltage, polarity, {earth} loop and every "
    "{rcd}, before loads go back on."
)


def family_of(
    id: str, title: str, says: str, alike: tuple[str, ...], confirm: str, find: Finder,
    mending: str = OPERATOR,
) -> Family:  # fmt: skip
    """A family of the supply's, mended by the network operator unless said otherwise."""
    return Family(id, title, says, rate(id).words, alike, confirm, mending, find)


FAMILIES = (
    family_of(
        "supply line lost", "Supply {line} lost",
        "The {conductors} of the supply does not reach the origin.",
        ("device off", "supply line poor", "open joint"),
        "Before the main switch: no volts from that conductor to any other, or only what comes "
        "back through loads.", lost_lines,
    ),
    family_of(
        "supply line poor", "Supply {line} resistive",
        "The {conductors} of the supply has resistance: it is good unloaded and falls under load.",
        ("supply line lost", "loose joint", "supply voltage"),
        "Volts at the origin fall with load on that {line} only; loop impedance there is high.",
        poor_lines,
    ),
    family_of(
        "supply neutral lost", "Supply neutral lost",
        "The supply's neutral does not reach the origin: loads on it hold it where they will.",
        ("supply neutral poor", "combined conductor lost", "open joint"),
        "At the origin, {line} to neutral strays while {line} to {earth} stands. "
        "Keep off metalwork and call the network operator.", lost_neutrals,
    ),
    family_of(
        "supply neutral poor", "Supply neutral resistive",
        "The supply's neutral has resistance: it moves with load.",
        ("supply neutral lost", "combined conductor poor", "loose joint"),
        "At the origin, neutral to {earth} rises with load; with two legs one rises as the "
        "other falls.", poor_neutrals,
    ),
    family_of(
        "combined conductor lost", "Combined neutral and {earth} conductor lost",
        "The supply's combined conductor is broken: everything {earthed} rises with load.",
        ("supply neutral lost", "combined conductor poor", "open joint"),
        "Measure the {earth} terminal against an independent {earth} with load on and off. Main "
        "switch off does not make it safe; keep off metalwork and call the network operator.",
        lost_combined,
    ),
    family_of(
        "combined conductor poor", "Combined neutral and {earth} conductor resistive",
        "The supply's combined conductor has resistance: everything {earthed} rises with load.",
        ("combined conductor lost", "supply neutral poor", "electrode poor"),
        "The {earth} terminal against an independent {earth} rises in step with load.",
        poor_combined,
    ),
    family_of(
        "combined conductor lost upstream",
        "Combined neutral and {earth} conductor lost before several houses",
        "The supply's combined conductor is broken before several houses: their loads pull it.",
        ("combined conductor lost", "supply neutral lost", "supply voltage"),
        "The neighbours have it too. Measure the {earth} terminal against an independent {earth}, "
        "own main switch off: it stays up. Keep off metalwork and call the network operator.",
        lost_upstream,
    ),
    family_of(
        "supply earth lost", "Supply {earth} lost",
        "The supply's {cpc} does not reach the origin: no {earth} fault will clear by it.",
        ("electrode poor", "open joint", "link missing", "supply earth poor"),
        "External {earth} loop impedance has no reading, or hundreds of ohms through pipes.",
        lost_earths,
    ),
    family_of(
        "supply earth poor", "Supply {earth} resistive",
        "The supply's {cpc} has resistance.",
        ("supply earth lost", "electrode poor", "loose joint"),
        "External {earth} loop impedance is far above what was declared.",
        poor_earths,
    ),
    family_of(
        "electrode poor", "Electrode poor or disconnected",
        "The installation's electrode has a high resistance or is disconnected.",
        ("supply earth lost", "link missing", "bond open"),
        "Electrode resistance by a test with auxiliary rods, or loop impedance, isolated.",
        poor_electrodes,
        mending="The electrode is renewed or its clamp remade: its resistance, loop, and every "
        "{rcd}.",
    ),
    family_of(
        "link missing", "Link missing",
        "The link between {a} and {b} is missing.",
        ("supply earth lost", "electrode poor", "combined conductor lost"),
        "Isolate, prove dead: continuity between the two bars the link should join.",
        missing_links,
        mending="The link is made: {earth} loop, polarity and every {rcd}.",
    ),
    family_of(
        "supply voltage", "Supply voltage high or low",
        "The supply stands outside its limits on every {line}.",
        ("supply line poor", "supply neutral poor", "wrong range"),
        "Volts before the main switch, unloaded and loaded, against the declared limits.",
        wrong_voltage,
    ),
    family_of(
        "primary phase lost", "Phase lost ahead of the transformer",
        "A phase is lost ahead of the transformer: {conductors} stand at half, the third is whole.",
        ("supply line lost", "supply neutral lost", "supply voltage"),
        "Before the main switch: two {line}s read half to neutral and next to nothing between "
        "them, loaded or not. Motors off; call the network operator.", primary_phases_lost,
    ),
    family_of(
        "network off earth", "The network's neutral stands off true {earth}",
        "A fault elsewhere on the network lifts its neutral, and with it all that is {earthed}.",
        ("combined conductor poor", "electrode poor", "combined conductor lost upstream"),
        "With everything off at the main switch, the {earth} terminal still reads some volts "
        "against an independent {earth}; the neighbours read the same.", networks_off_earth,
    ),
    family_of(
        "supply reversed", "Supply reversed",
        "{conductors} are exchanged at the origin: every switch parts the wrong conductor.",
        ("crossed at run end", "strapped earth"),
        "Before the main switch, each conductor against an independent {earth}.", reversed_supply,
    ),
)  # fmt: skip
