"""Every family and every fault it enumerates, over installations of every pattern."""

from __future__ import annotations

import math
import re
import string

import pytest

from halfsplit.errors import NotInTable
from halfsplit.faults.catalogue import FAMILIES, GROUPS, enumerate_faults, family
from halfsplit.faults.fault import Family
from halfsplit.faults.page import faults_page
from halfsplit.faults.rates import RATES
from halfsplit.faults.words import describe, fill, in_region, title_words
from halfsplit.wiring.effects import (
    Added,
    Bridged,
    LoadChange,
    ReadingChange,
    Scaled,
    StateChange,
)
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import EARTH, Plan
from tests.faults.houses import EVERY, radial

PLANS = {name: lay_out(installation) for name, installation in EVERY.items()}
FAULTS = {name: enumerate_faults(EVERY[name], PLANS[name]) for name in EVERY}


@pytest.fixture(params=sorted(EVERY))
def named(request: pytest.FixtureRequest) -> str:
    """Each installation in turn."""
    return str(request.param)


@pytest.fixture(params=FAMILIES, ids=lambda entry: entry.id)
def entry(request: pytest.FixtureRequest) -> Family:
    """Each family in turn."""
    family: Family = request.param
    return family


def test_ids_are_unique_and_the_order_is_fixed(named: str) -> None:
    """No two faults share an id, and asking again gives the same tuple."""
    faults = FAULTS[named]
    assert len({fault.id for fault in faults}) == len(faults)
    assert enumerate_faults(EVERY[named], lay_out(EVERY[named])) == faults


def test_no_family_yields_the_same_id_twice(named: str) -> None:
    """Uniqueness is the families' own, not made by dropping repeats."""
    for entry in FAMILIES:
        ids = [fault.id for fault in entry.find(EVERY[named], PLANS[named])]
        assert len(set(ids)) == len(ids), entry.id


def test_shares_sum_to_one(named: str) -> None:
    """The severities of each fault share out its weight completely, and none has none."""
    for fault in FAULTS[named]:
        assert math.fsum(s.share for s in fault.severities) == pytest.approx(1.0), fault.id
        assert all(s.share > 0 for s in fault.severities), fault.id
        assert fault.rate > 0, fault.id


def test_severities_of_a_fault_differ(named: str) -> None:
    """No two severities of one fault do the same thing."""
    for fault in FAULTS[named]:
        effects = [s.effects for s in fault.severities]
        assert all(effects), fault.id
        assert len(set(effects)) == len(effects), fault.id


def test_effects_name_what_the_plan_has(named: str) -> None:
    """Every element, node, load, device and switch that an effect names exists."""
    plan = PLANS[named]
    elements = {e.id for e in plan.elements}
    nodes = {n for e in plan.elements for n in (e.a, e.b)} | {EARTH}
    loads = {load.id for load in plan.loads}
    controls = {e.control for e in plan.elements}
    for fault in FAULTS[named]:
        for severity in fault.severities:
            for effect in severity.effects:
                match effect:
                    case Added(element, ohms):
                        assert element in elements, fault.id
                        assert ohms > 0, fault.id
                    case Bridged(a, b, siemens, farads):
                        assert {a, b} <= nodes, (fault.id, a, b)
                        assert a != b, fault.id
                        assert siemens > 0 or farads > 0, fault.id
                    case Scaled(element, factor):
                        assert element in elements, fault.id
                        assert abs(factor) > 0, fault.id
                    case LoadChange(load):
                        assert load in loads, fault.id
                    case StateChange(control):
                        assert control in controls, fault.id
                    case ReadingChange(instruments):
                        assert instruments, fault.id


def test_an_element_is_opened_once(named: str) -> None:
    """No fault names the same element twice, so effects commute."""
    for fault in FAULTS[named]:
        for severity in fault.severities:
            touched = [e.element for e in severity.effects if isinstance(e, Added)]
            assert len(set(touched)) == len(touched), fault.id


def test_places_and_circuits_exist(named: str) -> None:
    """Places are points, boards, the origin or paths; circuits are the installation's."""
    installation = EVERY[named]
    places = {spot.name for spot in PLANS[named].spots} | {p.name for p in installation.paths}
    circuits = {circuit.name for circuit in installation.circuits} | {""}
    for fault in FAULTS[named]:
        assert set(fault.places) <= places, fault.id
        assert fault.circuit in circuits, fault.id


def test_parts_exist(named: str) -> None:
    """What mending disturbs is an element, a load or a device of the plan."""
    plan = PLANS[named]
    parts = {e.id for e in plan.elements} | {x.id for x in plan.loads} | {w.name for w in plan.ways}
    for fault in FAULTS[named]:
        assert set(fault.parts) <= parts, fault.id


def test_every_fault_can_be_said(named: str) -> None:
    """Each fault fills every blank of its sentence, its check and its mending."""
    for fault in FAULTS[named]:
        entry = family(fault.family)
        for text in (entry.says, entry.confirm, entry.mending):
            said = fill(text, fault, EVERY[named])
            assert not {"{", "}"} & set(said), (fault.id, said)
            assert "  " not in said, (fault.id, said)


def test_two_faults_are_never_said_alike(named: str) -> None:
    """Different faults have different sentences, so a person knows which is meant."""
    said: dict[str, str] = {}
    for fault in FAULTS[named]:
        sentence = describe(fault, family(fault.family), EVERY[named])
        assert sentence not in said, (fault.id, said.get(sentence), sentence)
        said[sentence] = fault.id


def test_every_family_is_found_somewhere(entry: Family) -> None:
    """Each family enumerates at least one fault in one of the installations."""
    assert any(fault.family == entry.id for faults in FAULTS.values() for fault in faults)


def test_every_family_is_whole(entry: Family) -> None:
    """Title, sentence, reason, check and mending are there and end as sentences do."""
    assert title_words(entry, "uk")[:1].isupper()
    for text in (entry.says, entry.reason, entry.confirm, entry.mending):
        assert len(text) > 12, (entry.id, text)
        assert text.strip().endswith("."), (entry.id, text)
    assert entry.reason == RATES[entry.id].words


def test_every_family_reads_in_both_regions(entry: Family) -> None:
    """British and North American texts leave no vocabulary blank unfilled."""
    fault_blanks = {
        "conductors", "place", "from", "to", "a", "b", "other", "own", "run", "load", "device",
        "how",
    }  # fmt: skip
    for region in ("uk", "na", "eu", "au"):
        for text in (entry.title, entry.says, entry.reason, entry.confirm, entry.mending):
            left = {
                name for _, name, _, _ in string.Formatter().parse(in_region(text, region)) if name
            }
            assert left <= fault_blanks, (entry.id, left)


def test_american_texts_have_american_words(entry: Family) -> None:
    """The catalogue's own British trade words never reach a North American page."""
    british = re.compile(
        r"\bsocket-outlets?\b|\bconsumer unit\b|\bearth(ed|ing)?\b|\bprotective conductor\b"
        r"|\bresidual-current\b|\bresidual devices?\b|\bline\b", re.IGNORECASE
    )  # fmt: skip
    for text in (entry.title, entry.says, entry.confirm, entry.mending):
        said = in_region(text, "na")
        assert not british.search(said), (entry.id, said)


def test_lookalikes_exist(entry: Family) -> None:
    """Look-alikes are other families, each once."""
    assert entry.lookalikes
    assert len(set(entry.lookalikes)) == len(entry.lookalikes)
    for other in entry.lookalikes:
        assert family(other).id != entry.id


def test_where_a_conductor_is_touched_there_is_a_caution(entry: Family) -> None:
    """A check that opens, lifts or measures inside says to isolate and prove dead, or stays live
    at a front, a clamp or the origin with the operator's caution."""
    risky = re.compile(r"\b(continuity|lifted?|insulation of|ends lifted|pins)\b", re.IGNORECASE)
    safe = re.compile(r"prove[sd]? dead|unplug|Isolate|isolated|[Dd]ead|auxiliary", re.IGNORECASE)
    if risky.search(entry.confirm):
        assert safe.search(entry.confirm), entry.confirm


def test_an_unknown_family_lists_those_there_are() -> None:
    """Asking for a family that does not exist shows the name asked and the names there are."""
    with pytest.raises(NotInTable, match="no row for gremlins; the table has open joint, loose"):
        family("gremlins")


def test_every_rate_is_used() -> None:
    """Rates and families are the same list."""
    assert set(RATES) == {entry.id for entry in FAMILIES}


def test_the_page_has_every_family() -> None:
    """The manual's page has each family once, with working links, in catalogue order."""
    page = faults_page()
    heads = re.findall(r"^### (.+)$", page, re.MULTILINE)
    assert heads == [title_words(entry, "uk") for _, families in GROUPS for entry in families]
    anchors = {re.sub(r"[^a-z0-9 -]", "", head.lower()).replace(" ", "-") for head in heads}
    links = set(re.findall(r"\]\(#([^)]+)\)", page))
    assert links <= anchors
    assert len(anchors) == len(heads)


def _size(installation: Installation, plan: Plan) -> tuple[int, int]:
    faults = enumerate_faults(installation, plan)
    return len(faults), sum(len(fault.severities) for fault in faults)


def test_the_catalogue_stays_a_sane_size() -> None:
    """Twelve outlets in a row: 500 to 900 faults, 2,500 to 4,000 with severity; forty: 3,500."""
    twelve, forty = radial(12), radial(40)
    faults, hypotheses = _size(twelve, lay_out(twelve))
    assert 500 <= faults <= 900
    assert 2500 <= hypotheses <= 4000
    assert _size(forty, lay_out(forty))[0] <= 3500
