"""Where it would hurt until mended, over the whole belief: any cause above a tenth of a per cent.

A line conductor is live anyway and is not repeated here; what is listed is what people take to
be safe: neutrals, protective conductors, metalwork. "None of these" clears nothing: only
"proved dead" clears a conductor.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour.body import worst_touch
from halfsplit.diagnosis.result import Danger
from halfsplit.diagnosis.survey import Survey
from halfsplit.faults.words import conductor_words, place_words
from halfsplit.tables import shock
from halfsplit.wiring.model import Region

Real = NDArray[np.float64]
LEAST = 1e-3  # belief from which a cause counts
UNEARTHED_OHMS = 500.0  # a protective conductor behind more than this will not trip a fuse
HOT_WATTS = 5.0  # in a box: common practice that a few watts char it in time
MANY_WATTS = 3000.0  # the figure of a fire, not of a box: more is only called more
UNEXPLAINED_FROM = (
    0.1  # belief in "none of these" from which nothing is taken to be safe: judgement
)
LINES = ("L", "L1", "L2", "L3", "SL", "SL1", "SL2", "T1", "T2")


def dangers_of(
    found: Survey,
    weight: Real,
    counts: NDArray[np.bool_],
    watts: Real,
    places: list[tuple[str, ...]],
    region: Region,
    volts: float,
    none: float = 0.0,
) -> tuple[Danger, ...]:
    """The dangers under rows of belief ``weight`` (K,), worst first.

    ``counts`` (K,) marks the rows that belong to a cause believed at ``LEAST`` or more; what many
    lesser causes do together counts from the same belief. ``watts`` (K,) are turned to heat at
    ``places``. ``none`` is the belief in "none of
    these", under which anything may be live.
    """
    result = _shocks(found, weight, counts, region)
    if none >= UNEXPLAINED_FROM:
        result += _unexplained(found, none, result, region, volts)
    result += _heat(weight, counts, watts, places, region)
    order = {"shock": 0, "heat": 1, "unearthed": 2}
    return tuple(sorted(result, key=lambda d: (order[d.kind], -d.chance)))


def _shocks(found: Survey, weight: Real, counts: NDArray[np.bool_], region: Region) -> list[Danger]:
    """Where it hurts under what is believed, and what is not earthed."""
    let_go = shock.LET_GO_PLANNED.value
    limit, felt = shock.touch_limit(), shock.PERCEPTION.value
    v, amps, ohms = found.volts(), found.touched(), found.ohms()
    result = []
    for k, terminal in enumerate(found.terminals):
        place, conductor = terminal.place, terminal.conductor
        if conductor in LINES or place == "origin":
            continue
        hurts = (amps[:, k] >= let_go) | ((v[:, k] >= limit) & (amps[:, k] >= felt))
        chance = float(weight[hurts].sum())
        if (hurts & counts).any() or chance >= LEAST:
            worst = int(np.argmax(np.where(hurts, amps[:, k], -1)))
            most, through = float(v[worst, k]), float(amps[worst, k])
            says = _shock_words(place, conductor, most, through, region)
            result.append(Danger(place, conductor, most, through * 1e3, chance, says))
        free = counts & (ohms[:, k] > UNEARTHED_OHMS)
        if conductor in ("E", "frame") and free.any() and weight[free].sum() > 2 * chance:
            most, through = float(v[free, k].max()), float(amps[free, k].max())
            belief, says = float(weight[free].sum()), _unearthed_words(place, conductor, region)
            result.append(Danger(place, conductor, most, through * 1e3, belief, says, "unearthed"))
    return result


def _unexplained(
    found: Survey, none: float, known: list[Danger], region: Region, volts: float
) -> list[Danger]:
    """What is not yet known to hurt may, where nothing known explains the readings."""
    hurts = {(d.place, d.conductor) for d in known if d.kind == "shock"}
    amps = volts * float(np.real(worst_touch().admittance(np.array([volts]))[0][0]))
    return [
        Danger(
            t.place, t.conductor, volts, amps * 1e3, none,
            f"{_name(t.place, t.conductor, region)} may be live: nothing known explains the "
            "readings, and only proving dead clears it",
        )
        for t in found.terminals
        if t.conductor not in LINES and t.place != "origin" and (t.place, t.conductor) not in hurts
    ]  # fmt: skip


def _name(place: str, conductor: str, region: Region) -> str:
    if conductor == "frame":
        return f"the metalwork at {place_words(place, region)}"
    return f"the {conductor_words(conductor, region)} at {place_words(place, region)}"


def _shock_words(place: str, conductor: str, volts: float, amps: float, region: Region) -> str:
    through = f"{amps * 1e3:.0f} mA" if amps >= 1e-3 else f"{amps * 1e3:.1f} mA"
    return (
        f"{_name(place, conductor, region)} may stand at {volts:.0f} V to the ground, "
        f"{through} through a person"
    )


def _unearthed_words(place: str, conductor: str, region: Region) -> str:
    earthed = "grounded" if region == "na" else "earthed"
    name = _name(place, conductor, region)
    return f"{name} may not be {earthed}: one more fault there makes it live"


def _heat(
    weight: Real,
    counts: NDArray[np.bool_],
    watts: Real,
    places: list[tuple[str, ...]],
    region: Region,
) -> list[Danger]:
    by_place: dict[str, tuple[float, float]] = {}
    for h in np.flatnonzero(counts):
        if watts[h] < HOT_WATTS or not places[int(h)]:
            continue
        where = " and ".join(place_words(p, region) for p in dict.fromkeys(places[int(h)]))
        worst, chance = by_place.get(where, (0.0, 0.0))
        by_place[where] = (max(worst, float(watts[h])), chance + float(weight[int(h)]))
    return [
        Danger(
            where,
            "",
            0.0,
            0.0,
            chance,
            f"with everyday loads in use {_watts(most)} may turn to heat at {where}: a fire risk",
            "heat",
        )
        for where, (most, chance) in by_place.items()
        if chance >= 0.02
    ]


def _watts(watts: float) -> str:
    """Two digits: it says how hot, not how much; beyond a few kilowatts it is one or the other."""
    if watts > MANY_WATTS:
        return f"more than {MANY_WATTS / 1e3:.0f} kW"
    return f"{float(f'{watts:.2g}'):.0f} W"
