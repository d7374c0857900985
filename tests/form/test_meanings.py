# ruff: noqa: E501 (forms stand as they are typed)
"""What the form means: the model values and readings that a few typed lines become."""

from __future__ import annotations

import pytest

from halfsplit.form import read_job
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import Circuit

RUN = "circuits: {hall: {device: B16, run: [8 m, Bench, 4 m, Shelf]}}\n"


def only(text: str) -> Circuit:
    return read_job(text).installation.circuits[0]


def reading(entry: str, before: str = RUN) -> Reading:
    (found,) = read_job(before + f"readings:\n  - {entry}\n").readings
    return found


def test_a_radial_run_gives_its_points_in_order() -> None:
    """Lengths and points in turn give runs named by their ends, and sockets between them."""
    circuit = only(RUN)
    assert [run.name for run in circuit.runs] == ["Board–Bench", "Bench–Shelf"]
    assert [run.length.value for run in circuit.runs] == [8.0, 4.0]
    assert [point.kind for point in circuit.points] == ["socket", "socket"]
    assert circuit.shape == "radial"


def test_what_is_not_known_stays_wide() -> None:
    """A missing length is a wide prior, about 6 m a narrow one, 6 m is taken as stated."""
    circuit = only("circuits: {hall: {run: [A, about 6 m, B, 6 m, C, unknown, D]}}\n")
    spreads = [run.length.spread for run in circuit.runs]
    assert spreads[0] == spreads[3] >= 0.7
    assert 0.15 < spreads[1] < 0.3
    assert spreads[2] == 0.0


def test_feet_become_metres() -> None:
    """25 ft is 7.62 m, exactly (the international foot is 0.3048 m)."""
    assert only("circuits: {a: {run: [25 ft, X]}}\n").runs[0].length.value == pytest.approx(7.62)


def test_a_ring_comes_home() -> None:
    """The last length of a ring returns to the board, and spurs leave from their points."""
    circuit = only(
        "circuits: {r: {device: B32, ring: [8 m, A, 5 m, B, 9 m], spurs: {A: [2 m, C]}}}\n"
    )
    assert [(r.start, r.end) for r in circuit.runs] == [
        ("Board", "A"), ("A", "B"), ("B", "Board"), ("A", "C")
    ]  # fmt: skip
    assert circuit.shape == "ring"


def test_two_branches_may_leave_from_one_point() -> None:
    """A list of chains under a point gives several branches from it."""
    circuit = only("circuits: {r: {run: [A], branches: {A: [[1 m, B], [2 m, C]], B: [D]}}}\n")
    assert [(r.start, r.end) for r in circuit.runs][1:] == [("A", "B"), ("A", "C"), ("B", "D")]


@pytest.mark.parametrize(
    ("text", "kind", "amps", "curve", "residual"),
    [
        ("B16", "breaker", 16, "B", 0),
        ("C6", "breaker", 6, "C", 0),
        ("15 A", "breaker", 15, "B", 0),
        ("20 A breaker", "breaker", 20, "B", 0),
        ("B32 RCBO 30 mA", "rcbo", 32, "B", 0.03),
        ("30 A fuse BS 3036", "fuse", 30, "BS 3036", 0),
        ("GFCI 20 A", "gfci", 20, "B", 0.005),
        ("RCD 30 mA 63 A", "rcd", 63, "", 0.03),
        ("RCD 300 mA 40 A type AC", "rcd", 40, "", 0.3),
        ("32A MCB type B", "breaker", 32, "B", 0),
        ("20 A breaker RCD 30 mA", "rcbo", 20, "B", 0.03),
        ("16 amp breaker", "breaker", 16, "B", 0),
        ("none", "none", 16, "", 0),
    ],
)
def test_devices_are_read_from_what_is_printed_on_them(
    text: str, kind: str, amps: float, curve: str, residual: float
) -> None:
    """The kind, rating, curve and residual rating come out of the device's short text."""
    device = only(f"circuits: {{a: {{device: {text}, run: [X]}}}}\n").device
    assert (device.kind, device.amps, device.curve) == (kind, amps, curve)
    assert device.residual_amps == pytest.approx(residual)


@pytest.mark.parametrize(
    ("text", "earthing", "live", "volts", "hertz"),
    [
        ("TN-S 230 V", "TN-S", "single", 230, 50),
        ("TT", "TT", "single", 230, 50),
        ("TN-C-S three phase 400/230 V", "TN-C-S", "three", 230, 50),
        ("split phase 120/240 V 60 Hz", "TN-C-S", "split", 120, 60),
        ("208Y/120 60 Hz", "TN-C-S", "three", 120, 60),
        ("high leg 120/240 V 60 Hz", "TN-C-S", "high leg", 120, 60),
        ("centre tapped 110 V", "TN-C-S", "centre tap", 55, 50),
        ("TN-C 230 V", "TN-C", "single", 230, 50),
        ("TN-S three-phase 400 V", "TN-S", "three", 230, 50),
        ("high leg 240 V 60 Hz", "TN-C-S", "high leg", 120, 60),
        ("split phase 240 V 60 Hz", "TN-C-S", "split", 120, 60),
        ("IT 230 V", "IT", "single", 230, 50),
    ],
)
def test_supplies_are_read_from_a_few_words(
    text: str, earthing: str, live: str, volts: float, hertz: float
) -> None:
    """Earthing, live conductors, volts to neutral and frequency come out of the supply's text."""
    supply = read_job(f"supply: {text}\n{RUN}").installation.supply
    assert (supply.earthing, supply.live) == (earthing, live)
    assert (supply.volts.value, supply.hertz) == (volts, hertz)


def test_unknown_earthing_is_kept_as_unknown() -> None:
    """A supply that names no earthing, or unknown, says that it is not known."""
    assert not read_job(RUN).installation.supply.earthing_known
    assert not read_job("supply: unknown\n" + RUN).installation.supply.earthing_known
    assert read_job("supply: TT\n" + RUN).installation.supply.earthing_known


@pytest.mark.parametrize(
    ("text", "live", "protective"),
    [
        ("2.5/1.5 twin and earth", 2.5, 1.5),
        ("2.5", 2.5, 1.5),
        ("3G2.5", 2.5, 2.5),
        ("14/2 NM-B", 2.08, 2.08),  # ASTM B258: 14 AWG is 2.08 mm²
        ("12 AWG", 3.31, 3.31),  # ASTM B258: 12 AWG is 3.31 mm²
        ("4 singles", 4.0, 4.0),
    ],
)
def test_cables_give_the_sizes_of_their_cores(text: str, live: float, protective: float) -> None:
    """A cable's trade name gives its live and protective sizes in mm²."""
    cores = only(f"circuits: {{a: {{cable: {text}, run: [X]}}}}\n").runs[0].cores
    assert [c.start for c in cores] == ["L", "N", "E"]
    assert cores[0].mm2 == pytest.approx(live, rel=2e-3)
    assert cores[2].mm2 == pytest.approx(protective, rel=2e-3)


def lighting(region: str, switches: str) -> Circuit:
    return only(
        f"region: {region}\ncircuits: {{a: {{lighting: [5 m, {{Lamp: {{switched by: {switches}}}}}]}}}}\n"
    )


def joined(circuit: Circuit, states: dict[str, str]) -> set[str]:
    """Every terminal that is metallically joined to the board's line, switches as given."""
    edges = [
        (f"{run.start}.{core.start}", f"{run.end}.{core.end}")
        for run in circuit.runs for core in run.cores
    ]  # fmt: skip
    for point in circuit.points:
        for switch in point.switches:
            edges += [
                (f"{point.name}.{c.a}", f"{point.name}.{c.b}")
                for c in switch.contacts if states[switch.name] in c.closed_in
            ]  # fmt: skip
    reached = {"Board.L"}
    while True:
        more = {n for edge in edges if set(edge) & reached for n in edge} - reached
        if not more:
            return reached
        reached |= more


@pytest.mark.parametrize("region", ["uk", "na"])
def test_one_way_two_way_and_intermediate_switching_obey_their_truth_tables(region: str) -> None:
    """Looped at ceiling or switch, the lamp is live when an even number of switches is down."""
    one = lighting(region, "S")
    assert "Lamp.SL" in joined(one, {"S": "on"})
    assert "Lamp.SL" not in joined(one, {"S": "off"})
    for count in (2, 3, 4):
        names = [f"S{k}" for k in range(count)]
        circuit = lighting(region, "[" + ", ".join(names) + "]")
        for code in range(2**count):
            states = {n: "down" if code >> k & 1 else "up" for k, n in enumerate(names)}
            lit = "Lamp.SL" in joined(circuit, states)
            assert lit == (code.bit_count() % 2 == 0), states
            assert "Lamp.N" not in joined(circuit, states)


def test_a_shared_neutral_gives_each_point_its_own_line() -> None:
    """On two legs, a point's own line is its L and the other passes through as it is."""
    circuit = only(
        "region: na\ncircuits: {k: {legs: [L1, L2], run: [A, B], points: {A: {leg: L1}, B: {leg: L2}}}}\n"
    )
    assert circuit.legs == (("L1", "L1"), ("L2", "L2"))
    assert circuit.device.poles == ("L1", "L2")
    assert circuit.points[0].conductors == ("L", "L2", "N", "E")
    first, second = circuit.runs
    assert [(c.start, c.end) for c in first.cores][:2] == [("L1", "L"), ("L2", "L2")]
    assert [(c.start, c.end) for c in second.cores][:2] == [("L", "L1"), ("L2", "L")]


def test_a_half_switched_outlet_has_a_line_and_a_switched_line() -> None:
    """The run from the switch carries both the line and the switched line to the outlet."""
    circuit = only("circuits: {d: {run: [S, O], points: {S: switch, O: {half switched by: S}}}}\n")
    assert circuit.points[1].conductors == ("L", "SL", "N", "E")
    assert circuit.points[0].switches[0].contacts[0].b == "SL"


def test_beyond_an_isolator_the_line_is_its_switched_line() -> None:
    """What an isolator feeds hangs on its switched side, and opens with it."""
    circuit = only("circuits: {d: {run: [I, M], points: {I: isolator, M: appliance}}}\n")
    assert circuit.runs[1].cores[0].start == "SL"
    assert "M.L" in joined(circuit, {"I": "on"})
    assert "M.L" not in joined(circuit, {"I": "off"})


def test_a_run_that_ends_at_a_board_feeds_it() -> None:
    """The far board knows its feeder, and circuits on it start there."""
    job = read_job(
        "boards: {House: {}, Barn: {}}\ncircuits:\n  feed: {run: [30 m, Barn]}\n"
        "  barn: {board: Barn, run: [4 m, Milk]}\n"
    )
    assert job.installation.boards[1].fed_by == "feed"
    assert job.installation.circuit("feed").shape == "feeder"
    assert job.installation.circuit("barn").runs[0].start == "Barn"
    lay_out(job.installation)


def test_points_without_an_order_say_so() -> None:
    """Names alone, or a number, give points whose order is not known."""
    assert not only("circuits: {a: {points: [X, Y]}}\n").order_known
    numbered = only('circuits: {a: {points: "6, order unknown"}}\n')
    assert (len(numbered.points), numbered.order_known) == (6, False)


def test_loads_keep_how_they_stand() -> None:
    """Kinds, watts, off and unplugged are read from a load's words; unknown stays unknown."""
    circuit = only(
        "circuits: {a: {run: [X], plugged in: {X: [kettle 3 kW, 60 W, electronics, unknown, "
        "heater 2 kW off, LED 5 W unplugged]}}}\n"
    )
    loads = circuit.points[0].loads
    assert [load.kind for load in loads] == ["heater", "", "electronics", "", "heater", "led"]
    assert (loads[0].watts.value, loads[0].name) == (3000.0, "kettle")
    assert (loads[4].on, loads[5].connected) == (False, False)
    assert loads[2].filter_farads > 0
    assert loads[2].frame


def test_on_off_yes_and_no_are_words() -> None:
    """Names and words that another reader would turn into true and false stay as typed."""
    job = read_job(
        "title: no\ncircuits: {on: {run: [yes, off]}}\nreadings: [{at: off, works: no}]\n"
    )
    assert job.title == "no"
    assert [p.name for p in job.installation.points()] == ["yes", "off"]
    assert (job.readings[0].of, job.readings[0].seen) == ("off", "dead")


def test_names_may_be_in_any_script() -> None:
    """Letters of any script are names, and readings find them."""
    found = reading("{at: Küche ①, L-N: 230}", "circuits: {キッチン: {run: [8 m, Küche ①]}}\n")
    assert found.place == "Küche ①"
