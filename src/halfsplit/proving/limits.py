"""The limit of a test under one edition's rules, each with its source; None where none is held."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.errors import HalfsplitError, NotInTable
from halfsplit.proving.result import Limit
from halfsplit.proving.rules import Rules
from halfsplit.quantity import amps, ohms, seconds, volts
from halfsplit.tables import disconnection as loops
from halfsplit.tables import insulation, residual, ring, supplies
from halfsplit.tables import voltage_drop as drops
from halfsplit.tables.sources import source
from halfsplit.wiring.model import Circuit, Device, Installation

SOCKETS = ("socket", "gfci outlet")


def source_words(*ids: str) -> str:
    """Sources in words with their editions, each once."""
    return "; ".join(source(id).words() for id in dict.fromkeys(ids))


def loop_limit(rules: Rules, installation: Installation, circuit: Circuit) -> Limit | None:
    """Greatest loop impedance at the far end, as measured with the conductors cold, ohms.

    In TN by the circuit's overcurrent device; in TT, or behind a residual device alone, by its
    rated residual current. None where the rules hold nothing for that device.
    """
    if installation.supply.earthing == "TT":
        return residual_loop_limit(installation, circuit)
    if not rules.loop or installation.supply.earthing == "IT":
        return None
    try:
        hot, rule, used = _overcurrent(rules, installation, circuit)
    except HalfsplitError:
        return None
    if rules.cold:
        cold, how, more = loops.cold_limit(hot), "0.8 of", loops.COLD_FACTOR.source
    else:
        cold = hot / loops.HOT_FACTOR_70C.value
        how, more = f"1/{loops.HOT_FACTOR_70C.value:g} of", loops.HOT_FACTOR_70C.source
    words = f"at most {ohms(cold)} measured cold ({how} {ohms(hot)}: {rule})"
    return Limit(words, source_words(used, more), most=cold)


def _overcurrent(
    rules: Rules, installation: Installation, circuit: Circuit
) -> tuple[float, str, str]:
    """(limit with conductors hot, the rule in words, its source) of a circuit's device in TN."""
    device = circuit.device
    volts_0 = installation.supply.volts.value
    if device.kind == "fuse":
        sockets = any(point.kind in SOCKETS for point in circuit.points)
        time = loops.time_for("TN", volts_0, device.amps, sockets=sockets, edition=rules.loop)
        limit = loops.fuse_limit(device.curve, device.amps, time, rules.loop)
        table = loops.FUSES[(rules.loop, device.curve, time)]
        return limit, f"{device.curve} fuse, {device.amps:g} A, {seconds(time)}", table.source
    name = f"{device.curve}{device.amps:g}"
    if rules.loop == "iec":
        times = loops.INSTANT_BAND[device.curve][1]
        limit = volts_0 / (times * device.amps)
        rule = f"{name}: {volts(volts_0)} / ({times:g} x {device.amps:g} A)"
        return limit, rule, loops.INSTANT_BAND_SOURCE
    edition = loops.EDITIONS[rules.loop]
    limit = loops.breaker_limit(device.curve, device.amps, rules.loop)  # type: ignore[arg-type]
    factor = f" x {edition.c_min:g}" if edition.c_min != 1.0 else ""
    times = edition.multiplier[device.curve]
    rule = f"{name}: {volts(edition.volts)}{factor} / ({times:g} x {device.amps:g} A)"
    return limit, rule, edition.source


def residual_loop_limit(installation: Installation, circuit: Circuit) -> Limit | None:
    """Greatest loop impedance that a residual device clears: 50 V over its rating, ohms."""
    device = residual_device(installation, circuit)
    if device is None or installation.region == "na":
        return None
    most = supplies.electrode_limit(device.residual_amps)
    words = (
        f"at most {ohms(most)} ({volts(supplies.TOUCH_LIMIT_TT.value)} / "
        f"{amps(device.residual_amps)})"
    )
    return Limit(words, source_words(supplies.TOUCH_LIMIT_TT.source, "tt-200"), most=most)


def residual_devices(installation: Installation, circuit: Circuit) -> tuple[Device, ...]:
    """Every residual device a circuit stands behind: its own, its group's, its board's, those of
    the circuits that feed its board; nearest first.
    """
    return tuple(device for device in _above(installation, circuit) if device.residual_amps)


def residual_device(installation: Installation, circuit: Circuit) -> Device | None:
    """The nearest residual device above a circuit, or None."""
    return next(iter(residual_devices(installation, circuit)), None)


def _above(installation: Installation, circuit: Circuit) -> Iterator[Device]:
    here: Circuit | None = circuit
    seen: set[str] = set()
    while here is not None and here.name not in seen:
        seen.add(here.name)
        yield here.device
        board = next((b for b in installation.boards if b.name == here.board), None)
        if board is None:
            return
        yield from (g.device for g in board.groups if here.name in g.circuits)
        yield board.main
        fed_by = board.fed_by
        here = next((c for c in installation.circuits if c.name == fed_by), None)


def insulation_limit(rules: Rules, nominal: float, equipment: bool) -> Limit | None:
    """Least insulation resistance for a circuit of that nominal voltage, ohms.

    With equipment still connected the lower test voltage is allowed, live conductors joined.
    """
    row = _insulation_row(rules, nominal)
    if row is None:
        return None
    words = f"at least {ohms(row.least_ohm)} at {row.test_volts:.0f} V d.c."
    used = [row.source]
    if equipment and row.test_volts == 500.0 and rules.region in ("uk", "eu"):
        words += f"; {insulation.WITH_EQUIPMENT_V.value:.0f} V where equipment is connected"
        used.append(insulation.WITH_EQUIPMENT_V.source)
    return Limit(words, source_words(*used), least=row.least_ohm)


def insulation_volts(rules: Rules, nominal: float, equipment: bool) -> float:
    """The test voltage to use, V d.c."""
    if equipment:
        return insulation.WITH_EQUIPMENT_V.value
    row = _insulation_row(rules, nominal)
    return 500.0 if row is None else row.test_volts


def _insulation_row(rules: Rules, nominal: float) -> insulation.Limit | None:
    try:
        return insulation.limit(nominal, rules.insulation) if rules.insulation else None
    except NotInTable:  # the edition's rows end below that voltage
        return None


def electrode_limit(installation: Installation) -> Limit | None:
    """Greatest electrode resistance: 50 V over the largest residual rating it serves, ohms."""
    ratings = [
        device.residual_amps
        for circuit in installation.circuits
        for device in residual_devices(installation, circuit)
    ]
    if not ratings or installation.region == "na":
        return None
    most = supplies.electrode_limit(max(ratings))
    words = f"at most {ohms(most)} ({volts(supplies.TOUCH_LIMIT_TT.value)} / {amps(max(ratings))})"
    return Limit(words, source_words(supplies.TOUCH_LIMIT_TT.source), most=most)


def trip_time_limit(rules: Rules, device: Device, times: float) -> Limit | None:
    """Longest time in which a residual device may trip at so many times its rating, seconds.

    At half the rating it must hold: ``least`` is the time it has to hold for.
    """
    if rules.residual == "gfci":
        return _ground_fault_time(device, times)
    if not rules.residual:
        return None
    if times <= residual.SINE.hold:
        hold = residual.HALF_HOLD
        words = f"must hold for {seconds(hold.value)} at half its rating"
        return Limit(words, source_words(hold.source), least=hold.value)
    row = residual.GENERAL
    most = {1.0: row.one[1], 2.0: row.two[1], 5.0: row.five[1]}.get(times)
    if most is None:
        return None
    used = [row.source]
    if times == 5.0 and device.residual_amps <= residual.ADDITIONAL_RATING.value:
        used.append(residual.FIVE_TIMES_30MA.source)
    words = f"at most {seconds(most)} at {times:g} x {amps(device.residual_amps)}"
    return Limit(words, source_words(*used), most=most)


def _ground_fault_time(device: Device, times: float) -> Limit | None:
    current = times * (device.residual_amps or residual.GFCI_TRIP.value)
    try:
        most = residual.gfci_time(current)
    except HalfsplitError:
        return None
    words = f"at most {seconds(most)} at {amps(current)}"
    return Limit(words, source_words(residual.GFCI_TIME_LOW.source), most=most)


def required_times(rules: Rules) -> tuple[float, ...]:
    """At how many times the rating a residual device has to be timed."""
    words = {"1x ac": 1.0, "1x": 1.0, "5x": 5.0}
    required, _ = residual.TESTS_REQUIRED.get(rules.residual, ((), ()))
    return tuple(words[name] for name in required)


def trip_current_limit(rules: Rules, device: Device) -> Limit | None:
    """Between which residual currents a device must trip, amperes."""
    if rules.residual == "gfci":
        low, high = residual.GFCI_HOLD, residual.GFCI_TRIP
        words = f"from {amps(low.value)} to {amps(high.value)}"
        return Limit(words, source_words(low.source), high.value, low.value)
    if not rules.residual or not device.residual_amps:
        return None
    hold, trip = residual.trip_limits(device.residual_amps)
    words = f"from {amps(hold)} to {amps(trip)}"
    return Limit(words, source_words(residual.SINE.source), trip, hold)


def supply_limit(rules: Rules, installation: Installation, port: str) -> Limit | None:
    """The band a supply voltage is held to, for a line to neutral reading, volts."""
    keys = port.split("-")
    if "E" in keys or "N" not in keys or not rules.supply:
        return None
    band = supplies.band(rules.supply)
    nominal = installation.supply.volts.value
    if abs(nominal - band.nominal) > 0.05 * band.nominal:
        return None  # another system: 110 V centre-tapped, high leg
    words = f"{volts(band.low)} to {volts(band.high)} {band.what}"
    return Limit(words, source_words(band.source), band.high, band.low)


def ring_match_limit(rules: Rules) -> Limit | None:
    """How far apart line and neutral of a ring may read end to end, ohms."""
    if not rules.ring:
        return None
    words = f"r1 and rn alike within {ohms(ring.MATCH.value)}"
    return Limit(words, source_words(ring.MATCH.source), most=ring.MATCH.value)


def drop_limit(rules: Rules, lighting: bool, nominal: float) -> Limit | None:
    """Greatest voltage drop, volts; in North America advice only."""
    use = {"uk": "lighting" if lighting else "other", "us": "branch"}.get(rules.drop)
    if use is None:
        return None
    figure = drops.LIMITS[(rules.drop, use)]
    most = drops.limit_volts(rules.drop, use, nominal)
    advice = "" if drops.ENFORCEABLE[rules.drop] else ", advice and not a requirement"
    words = f"at most {volts(most)} ({100 * figure.value:g} % of {volts(nominal)}{advice})"
    return Limit(words, source_words(figure.source), most=most)
