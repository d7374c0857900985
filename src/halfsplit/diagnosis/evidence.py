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
REPEATED = 0.5  # of slips, where the same is read again by the same hand: judgement
MISTAKEN = FLAT / 3  # a word said by mistake: an observation has about three
ALSO_WRONG = 0.3  # a sentence that is wrong of one thing, of the next: judgement
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
    alike: frozenset[tuple[int, int]] = frozenset(),
    hides: Real | None = None,
) -> Agreement:
    """Weigh r figures against H predictions, row 0 the sound circuit's.

    ``measured`` (r,), ``mean`` (H, r), ``noise`` (H, r) one sigma, ``J`` (H, r, E) sensitivities to
    E nuisances of prior ``spread`` (E,) or (H, E). ``logged`` (r,) marks figures compared as logs.
    ``alike`` are pairs (i, j), i > j, of one reading taken twice: a slip made once may be repeated.
    ``hides`` (H, r) is the chance that a figure was taken while the fault did not show.
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
    left = _Left(base, g, L, size, noise, measured, kinds, volts, logged)
    if hides is None or not hides.any():
        return _with_slips(left, alike)
    return _with_hidden(left, alike, mean[0], hides)


@dataclass(frozen=True, slots=True)
class _Left:
    """What leaving figures out of the Gaussian needs: residuals in sigma, and their inverse."""

    base: Real
    g: Real
    L: Real
    size: Real
    noise: Real
    measured: Real
    kinds: tuple[str, ...]
    volts: float
    logged: NDArray[np.bool_]

    @property
    def diagonal(self) -> Real:
        at = np.arange(self.g.shape[1])
        return self.L[:, at, at]

    def slipped(self, i: int, shift: Real, spread: Real) -> Real:
        """Log density (H,) of figure ``i`` as a slip; the others say it is ``shift`` sigma off."""
        meant = self.measured[i] - self.size[:, i] * shift
        return _slip_log_density(
            self.kinds[i], self.measured[i], meant, self.size[:, i] * spread, self.volts,
            bool(self.logged[i]),
        )  # fmt: skip


def _with_hidden(
    left: _Left, alike: frozenset[tuple[int, int]], sound: Real, hides: Real
) -> Agreement:
    """The same where figures may be the sound circuit's, ``sound`` (r,)."""
    size = left.size[0]
    z = np.clip((left.measured - sound) / size, -FAR, FAR)
    density = -0.5 * z**2 - np.log(size) - 0.5 * math.log(2 * math.pi)
    with np.errstate(divide="ignore"):
        odds = np.log(hides / (1 - hides) / misread.SLIP_CHANCE)
    found = _with_slips(left, alike, odds + density)
    return Agreement(found.log + np.log1p(-hides).sum(axis=1), found.slip)


def _with_slips(
    left: _Left, alike: frozenset[tuple[int, int]], hidden: Real | None = None
) -> Agreement:
    """``hidden`` (H, r) is the log density of each figure as taken while the fault did not show,
    weighed like a slip that is so many times as likely, and not told as one.
    """
    base, g, diagonal, r = left.base, left.g, left.diagonal, left.g.shape[1]
    chance = misread.SLIP_CHANCE
    # Leaving figure i out: what the others say of it is e_i - g_i/L_ii with variance 1/L_ii.
    without = base[:, None] + 0.5 * np.log(2 * np.pi / diagonal) + 0.5 * g**2 / diagonal
    without = without + np.log(left.size)
    shift, spread = g / diagonal, 1 / np.sqrt(diagonal)
    drawn = np.stack([left.slipped(i, shift[:, i], spread[:, i]) for i in range(r)], axis=1)
    missed = np.zeros(drawn.shape)
    if hidden is not None:
        drawn = np.logaddexp(drawn, hidden)
        missed = np.exp(hidden - drawn)
    odds = math.log(chance / (1 - chance))
    pairs = [(i, j) for i in range(r) for j in range(i)]
    terms = [base[:, None], without + drawn + odds]
    if pairs:
        terms.append(_both(left, pairs, drawn, odds, alike) + odds)
    stacked = np.concatenate(terms, axis=1) + r * math.log(1 - chance)
    log = np.logaddexp.reduce(stacked, axis=1)
    share = np.exp(stacked - log[:, None])
    slip = share[:, 1 : 1 + r].copy()
    for k, (i, j) in enumerate(pairs):
        slip[:, i] += share[:, 1 + r + k]
        slip[:, j] += share[:, 1 + r + k]
    return Agreement(log, slip * (1 - missed))


def _both(
    left: _Left,
    pairs: list[tuple[int, int]],
    drawn: Real,
    odds: float,
    alike: frozenset[tuple[int, int]],
) -> Real:
    """(H, p) log density with both figures of a pair as slips, the second one's odds included."""
    a, b = np.array(pairs).T
    g, diagonal = left.g, left.diagonal
    la, lb, lab = diagonal[:, a], diagonal[:, b], left.L[:, a, b]
    det = np.maximum(la * lb - lab**2, 1e-12)
    ga, gb = g[:, a], g[:, b]
    q = (ga**2 * lb - 2 * ga * gb * lab + gb**2 * la) / det
    both = left.base[:, None] + 0.5 * q - 0.5 * np.log(det) + math.log(2 * math.pi)
    both = both + np.log(left.size[:, a]) + np.log(left.size[:, b])
    slips = drawn[:, a] + drawn[:, b] + odds
    for k, (i, j) in enumerate(pairs):
        if (i, j) in alike:  # one slip, made again: the other of the two knows nothing better
            shift = (lb[:, k] * ga[:, k] - lab[:, k] * gb[:, k]) / det[:, k]
            noise = np.hypot(left.noise[:, i], left.noise[:, j])
            z = (left.measured[i] - left.measured[j]) / noise
            again = left.slipped(i, shift, np.sqrt(lb[:, k] / det[:, k]))
            again = again - 0.5 * z**2 - np.log(noise) - 0.5 * math.log(2 * math.pi)
            slips[:, k] = np.logaddexp(slips[:, k], again + math.log(REPEATED))
    found: Real = both + slips
    return found


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
    logs: Real = np.log(beyond_sound(chance) * (1 - FLAT) + anyway)
    return logs


def beyond_sound(chance: Real, usual: Real | None = None) -> Real:
    """Chances (K, m) of which a complaint's are what a row adds to the sound circuit's, row 0.

    What is a complaint is told by the ``usual`` chances of the sound circuit (m,).
    """
    chance = np.clip(chance, 0.0, 1.0)
    sound = chance[:1]
    added = np.maximum(chance - sound, 0.0) / np.maximum(1 - sound, 1e-9)
    weighed: Real = np.where((sound if usual is None else usual) < COMPLAINT, added, chance)
    return weighed


def in_common(chance: Real, usual: Real, anyway: Real) -> Real:
    """(K,) log of how much likelier n observations are together than each by itself.

    ``chance`` (K, n, L) are theirs at L thresholds that they share, each as likely, row 0 the sound
    circuit's; ``usual`` (n,) the sound circuit's at any, ``anyway`` (n,) as in ``soften``.
    """
    each = beyond_sound(chance, usual[:, None]) * (1 - FLAT) + anyway[:, None]
    logs: Real = np.log(each.prod(axis=1).mean(axis=1)) - np.log(each.mean(axis=2)).sum(axis=1)
    return logs


def in_one_breath(chance: Real, anyway: float) -> Real:
    """Log of the chance (K,) of what was said in one sentence of several things, (K, n) each.

    A sentence that is wrong of one thing may be wrong of the next (not tried, or of another
    circuit): the first mistake costs ``anyway``, a further one ``ALSO_WRONG``.
    """
    each = beyond_sound(chance)
    right = np.prod(each * (1 - FLAT), axis=1)
    wrong = anyway / ALSO_WRONG * np.prod(ALSO_WRONG + (1 - ALSO_WRONG) * each, axis=1)
    logs: Real = np.log(right + wrong)
    return logs
