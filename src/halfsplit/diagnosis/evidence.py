"""How well figures agree: one Gaussian over all readings together, with up to two slips.

Never a product of marginals: readings share the same unknown lengths, supply and load. A slip is
a small, structured chance (ten times out, wrong unit, wrong pair, anything); a reading that is
taken to be a slip is left out of the Gaussian exactly, from its inverse.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.instruments import misread

Real = NDArray[np.float64]
FAR = 1e6  # residuals beyond this many sigma are held here: the slip term has long taken over
FLAT = 0.02  # an observation is reported wrongly this often: judgement, as for slips
MISTAKEN = FLAT / 3  # a word said by mistake: an observation has about three
COMPLAINT = 0.05  # a word to which the sound circuit itself gives less than this is a complaint


@dataclass(frozen=True, slots=True)
class Agreement:
    """``log`` (H,) log likelihood; ``slip`` (H, r) chance that each figure is a slip."""

    log: Real
    slip: Real


def agree(
    measured: Real,
    mean: Real,
    noise: Real,
    J: Real,
    spread: Real,
    kinds: tuple[str, ...],
    volts: float,
    logged: NDArray[np.bool_],
) -> Agreement:
    """Weigh r figures against H predictions.

    ``measured`` (r,), ``mean`` (H, r), ``noise`` (H, r) one sigma, ``J`` (H, r, E) sensitivities to
    E nuisances of prior ``spread`` (E,) or (H, E). ``logged`` (r,) marks figures compared as logs.
    """
    H, r = mean.shape
    if r == 0:
        return Agreement(np.zeros(H), np.zeros((H, 0)))
    scaled = J * (spread if spread.ndim == 1 else spread[:, None, :])
    S = scaled @ np.swapaxes(scaled, 1, 2)
    S[:, np.arange(r), np.arange(r)] += noise**2
    size = np.sqrt(S[:, np.arange(r), np.arange(r)])
    e = np.clip((measured - mean) / size, -FAR, FAR)
    C = S / size[:, :, None] / size[:, None, :]
    L: Any = np.linalg.inv(C + 1e-9 * np.eye(r))
    _, logdet = np.linalg.slogdet(C + 1e-9 * np.eye(r))
    g = np.einsum("hij,hj->hi", L, e)
    base = -0.5 * (np.einsum("hi,hi->h", e, g) + logdet + r * math.log(2 * math.pi))
    base = base - np.log(size).sum(axis=1)
    return _with_slips(base, e, g, L, size, measured, kinds, volts, logged)


def _with_slips(
    base: Real,
    e: Real,
    g: Real,
    L: Real,
    size: Real,
    measured: Real,
    kinds: tuple[str, ...],
    volts: float,
    logged: NDArray[np.bool_],
) -> Agreement:
    r = e.shape[1]
    chance = misread.SLIP_CHANCE
    diagonal = L[:, np.arange(r), np.arange(r)]
    # Leaving figure i out: what the others say of it is e_i - g_i/L_ii with variance 1/L_ii.
    without = base[:, None] + 0.5 * np.log(2 * np.pi / diagonal) + 0.5 * g**2 / diagonal
    without = without + np.log(size)
    meant = measured - size * g / diagonal
    spread = size / np.sqrt(diagonal)
    drawn = np.stack(
        [
            _slip_log_density(kinds[i], measured[i], meant[:, i], spread[:, i], volts, logged[i])
            for i in range(r)
        ],
        axis=1,
    )
    none = base + r * math.log(1 - chance)
    odds = math.log(chance / (1 - chance))
    one = without + drawn + r * math.log(1 - chance) + odds
    pairs = [(i, j) for i in range(r) for j in range(i)]
    terms = [none[:, None], one]
    if pairs:
        a, b = np.array(pairs).T
        la, lb, lab = diagonal[:, a], diagonal[:, b], L[:, a, b]
        det = np.maximum(la * lb - lab**2, 1e-12)
        ga, gb = g[:, a], g[:, b]
        q = (ga**2 * lb - 2 * ga * gb * lab + gb**2 * la) / det
        both = base[:, None] + 0.5 * q - 0.5 * np.log(det) + math.log(2 * math.pi)
        both = both + np.log(size[:, a]) + np.log(size[:, b]) + drawn[:, a] + drawn[:, b]
        terms.append(both + r * math.log(1 - chance) + 2 * odds)
    stacked = np.concatenate(terms, axis=1)
    log = np.logaddexp.reduce(stacked, axis=1)
    share = np.exp(stacked - log[:, None])
    slip = share[:, 1 : 1 + r].copy()
    for k, (i, j) in enumerate(pairs):
        slip[:, i] += share[:, 1 + r + k]
        slip[:, j] += share[:, 1 + r + k]
    return Agreement(log, slip)


def _slip_log_density(
    kind: str, shown: float, meant: Real, spread: Real, volts: float, logged: bool
) -> Real:
    """Log density of a figure that slipped, given what was meant (H,) and its spread (H,)."""
    total = np.full(meant.shape, 1e-300)
    for slip, share in misread.slips(kind):
        share /= misread.SLIP_CHANCE
        if slip.how == "factor":
            if logged:
                at, widen = shown - math.log(slip.factor), 1.0
            else:
                at, widen = shown / slip.factor, slip.factor
            z = np.clip((at - meant) / spread, -30, 30)
            total += share * np.exp(-0.5 * z**2) / (spread * math.sqrt(2 * math.pi) * widen)
        elif slip.how == "wrong pair":
            total += share * _other_pair(kind, shown, volts)
        else:
            value = math.exp(shown) if logged else abs(shown)
            density = float(misread.anything_density(kind, max(value, misread.SPAN[kind][0])))
            total += share * density * (value if logged else 1.0)
    logs: Real = np.log(total)
    return logs


def _other_pair(kind: str, shown: float, volts: float) -> float:
    """Density of a figure read at another pair: for volts nothing, all of it, or between."""
    if kind != "volts":
        return 0.02
    near = math.exp(-abs(shown) / 2.0) / 2.0
    whole = math.exp(-0.5 * ((shown - volts) / (0.05 * volts)) ** 2) / (0.125 * volts)
    return 0.4 * near + 0.4 * whole + 0.2 / (1.2 * volts)


def soften(chance: Real, anyway: Real | float = MISTAKEN) -> Real:
    """Log of observations' chances (K, m), row 0 the sound circuit's.

    ``anyway`` (m,) is the chance that each is said where nothing of the kind is there. Of a
    complaint, a word that the sound circuit hardly gives, only what a row adds to the sound
    circuit's own chance weighs beyond it: soft thresholds have tails that nobody calls for.
    """
    chance = np.clip(chance, 0.0, 1.0)
    sound = chance[:1]
    added = np.maximum(chance - sound, 0.0) / np.maximum(1 - sound, 1e-9)
    weighed = np.where(sound < COMPLAINT, added, chance)
    logs: Real = np.log(weighed * (1 - FLAT) + anyway)
    return logs
