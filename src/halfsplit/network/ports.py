"""What is not linear hangs on ports.

Any instrument sees a Thevenin source and shows a number; lamps, electronics and bodies see the
same source and answer with a law i(v). Several instruments or loads at once are kept ports
solved jointly, (I + Z Y)^-1 v, never one after another.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[Any]

NEWTON_STEPS = 40
HALVINGS = 12
WARM_STEPS = 4
FIXED_POINT_STEPS = 120
FIXED_POINT_SHARE = 0.5
SMALLEST_SCALE_STEP = 1e-3


class Law(Protocol):
    """A load's law i = y(abs v) v, the same for every row; like laws are equal and hash alike."""

    def admittance(self, vmag: NDArray[np.float64]) -> tuple[ArrayLike, ArrayLike]:
        """(y, dy/dabs v) in siemens and siemens per volt at `vmag` (n,) volts of 0 or more."""
        ...


@dataclass(frozen=True, slots=True)
class Settled:
    """`v` (B, P) volts across each port, `i` (B, P) amperes drawn, `converged` (B,) bool."""

    v: Array
    i: Array
    converged: NDArray[np.bool_]


def alike(laws: Sequence[Law]) -> tuple[tuple[Law, list[int]], ...]:
    """Each law once, with the ports that have it."""
    found: dict[Law, list[int]] = {}
    for port, law in enumerate(laws):
        found.setdefault(law, []).append(port)
    return tuple(found.items())


def admittances(
    laws: Sequence[tuple[Law, list[int]]], size: NDArray[np.float64]
) -> tuple[Array, Array]:
    """(y, dy/dabs v), each complex (n, P), of laws told `alike`, at `size` (n, P) volts."""
    y = np.empty(size.shape, dtype=np.complex128)
    dy = np.empty(size.shape, dtype=np.complex128)
    for law, ports in laws:
        shape = (size.shape[0], len(ports))
        found, slope = law.admittance(size[:, ports].ravel())
        y[:, ports] = np.broadcast_to(found, size.shape[0] * len(ports)).reshape(shape)
        dy[:, ports] = np.broadcast_to(slope, size.shape[0] * len(ports)).reshape(shape)
    return y, dy


def attach(voc: Array, Z: Array, port: int, y: complex | Array) -> tuple[Array, Array]:
    """Attach a linear meter of admittance `y` siemens at one port of (..., P) and (..., P, P).

    Returns (voc, Z) as every port sees them with the meter in place; `y` may be inf (a solid
    link) or shaped like the leading dimensions.
    """
    y = np.asarray(y)
    infinite = np.isinf(y)
    finite = np.where(infinite, 1.0, y)
    z = Z[..., port, port]
    scale = np.where(infinite, 1.0, finite) / (np.where(infinite, 0.0, 1.0) + finite * z)
    drawn = scale * voc[..., port]
    column, row = Z[..., :, port], Z[..., port, :]
    return (
        voc - column * drawn[..., None],
        Z - column[..., :, None] * (scale[..., None] * row)[..., None, :],
    )


def reflect(values: Array, transfer: Array, i: Array) -> Array:
    """Other functionals (B, r) after the ports draw `i` (B, P): values - transfer i.

    `transfer` (B, r, P) is the part of G from the ports to those functionals.
    """
    left: Array = values - np.einsum("...rp,...p->...r", transfer, i)
    return left


def settle(
    voc: Array,
    Z: Array,
    laws: Sequence[Law],
    start: Array | None = None,
    tol: float = 1e-9,
    share: Array | None = None,
) -> Settled:
    """Solve v = voc - Z i(v) at P kept ports jointly, for each of B rows.

    `voc` (B, P) volts, `Z` (B, P, P) ohm, one law per port. `start` (B, P) is a guess of v;
    `share` (B, P) multiplies each law's admittance (0: not plugged in, 2: two of them). A row
    has converged when Newton's last step was under `tol` volts, relative above 1 V. A row that
    did not says so in `converged`; its v is the best that was found.
    """
    problem = _Ports(np.asarray(voc), np.asarray(Z), tuple(laws), share)
    v = problem.voc.copy() if start is None else np.array(start, dtype=problem.voc.dtype)
    every = np.arange(problem.rows)
    v = problem.fixed_point(v, every, WARM_STEPS if start is None else 1, 1.0)
    v, good = problem.newton(v, every, tol)
    left = np.flatnonzero(~good)
    if left.size:
        guess = problem.fixed_point(problem.voc.copy(), left, FIXED_POINT_STEPS, FIXED_POINT_SHARE)
        retried, good_again = problem.newton(guess, left, tol)
        v[left], good[left] = retried[left], good_again[left]
    for row in np.flatnonzero(~good):
        v[row], good[row] = problem.continued(int(row), v[row], tol)
    return Settled(v, problem.current(v, every), good)


class _Ports:
    """The joint equation of all rows, evaluated on those still at work."""

    def __init__(
        self,
        voc: Array,
        Z: Array,
        laws: tuple[Law, ...],
        share: Array | None,
    ) -> None:
        self.rows, self.ports = voc.shape
        self.dtype = np.result_type(voc, Z, np.float64)
        self.voc = voc.astype(self.dtype)
        self.Z = Z
        self.laws, self.alike = laws, alike(laws)
        self.share = None if share is None else np.asarray(share, dtype=np.float64)

    def law(self, v: Array, rows: NDArray[np.intp]) -> tuple[Array, Array]:
        """(y, dy) each (n, P) at the voltages `v` (n, P) of `rows`."""
        y, dy = admittances(self.alike, np.abs(v))
        if self.share is not None:
            y, dy = y * self.share[rows], dy * self.share[rows]
        return (y.real, dy.real) if self.dtype.kind == "f" else (y, dy)

    def current(self, v: Array, rows: NDArray[np.intp]) -> Array:
        """Amperes drawn (n, P)."""
        return self.law(v, rows)[0] * v

    def fixed_point(self, v: Array, rows: NDArray[np.intp], steps: int, share: float) -> Array:
        """Solve as if each load were its present resistance, again and again."""
        eye = np.eye(self.ports)
        v = v.copy()
        for _ in range(steps):
            y, _ = self.law(v[rows], rows)
            system = eye + self.Z[rows] * y[:, None, :]
            solved = _solve(system, self.voc[rows])
            v[rows] += share * np.where(np.isfinite(solved), solved - v[rows], 0.0)
        return v

    def step(self, v: Array, rows: NDArray[np.intp]) -> tuple[Array, Array]:
        """Newton's Jacobian in real form (n, m, m) and residual (n, m) at `v` (n, P)."""
        y, dy = self.law(v, rows)
        Z = self.Z[rows]
        i = y * v
        residual = v + np.einsum("npq,nq->np", Z, i) - self.voc[rows]
        size = np.abs(v)
        unit = np.where(size > 0, v / np.where(size > 0, size, 1.0), 1.0)
        if self.dtype.kind == "f":
            slope = y + dy * v * unit
            return np.eye(self.ports) + Z * slope[:, None, :], residual
        # d i = y dv + dy v Re(conj(unit) dv): real and imaginary parts of dv act differently.
        by_real = Z * (y + dy * v * unit.real)[:, None, :] + np.eye(self.ports)
        by_imag = Z * (1j * y + dy * v * unit.imag)[:, None, :] + 1j * np.eye(self.ports)
        upper = np.concatenate([by_real.real, by_imag.real], axis=2)
        lower = np.concatenate([by_real.imag, by_imag.imag], axis=2)
        real = np.concatenate([residual.real, residual.imag], axis=1)
        return np.concatenate([upper, lower], axis=1), real

    def fold(self, real: Array) -> Array:
        """Real-form steps (n, m) back to voltages (n, P)."""
        if self.dtype.kind == "f":
            return real
        return real[:, : self.ports] + 1j * real[:, self.ports :]

    def newton(
        self, v: Array, rows: NDArray[np.intp], tol: float
    ) -> tuple[Array, NDArray[np.bool_]]:
        """Damped Newton on `rows`; the step itself is the measure, so the scale of Z is not."""
        v = v.copy()
        good = np.zeros(self.rows, dtype=np.bool_)
        at_work = rows
        for _ in range(NEWTON_STEPS):
            if at_work.size == 0:
                break
            here = v[at_work]
            jacobian, residual = self.step(here, at_work)
            dv = -self.fold(_solve(jacobian, residual))
            size = _largest(dv)
            done = size <= tol * np.maximum(1.0, _largest(here))
            v[at_work[done]] = (here + dv)[done]
            good[at_work[done]] = True
            keep = ~done & np.isfinite(size)
            at_work, here, dv = at_work[keep], here[keep], dv[keep]
            share, found = self._damp(here, dv, size[keep], jacobian[keep], at_work)
            v[at_work] = here + share[:, None] * dv
            at_work = at_work[found]
        return v, good

    def _damp(
        self, here: Array, dv: Array, size: Array, jacobian: Array, rows: NDArray[np.intp]
    ) -> tuple[Array, NDArray[np.bool_]]:
        """The largest halving of each step that brings the next (simplified) step down."""
        share = np.ones(rows.size)
        found = np.zeros(rows.size, dtype=np.bool_)
        for _ in range(HALVINGS):
            todo = np.flatnonzero(~found)
            if todo.size == 0:
                break
            trial = here[todo] + share[todo, None] * dv[todo]
            _, residual = self.step(trial, rows[todo])
            following = _largest(self.fold(_solve(jacobian[todo], residual)))
            better = following <= (1 - share[todo] / 4) * size[todo]
            found[todo[better]] = True
            share[todo[~better]] /= 2
        return share, found

    def continued(self, row: int, best: Array, tol: float) -> tuple[Array, bool]:
        """Turn the sources up from nothing in steps that Newton can follow."""
        one = np.zeros(1, dtype=np.intp)
        v = np.zeros((1, self.ports), dtype=self.dtype)
        reached, step = 0.0, 0.125
        while reached < 1.0 and step >= SMALLEST_SCALE_STEP:
            scale = min(1.0, reached + step)
            part = _Ports(
                self.voc[row : row + 1] * scale,
                self.Z[row : row + 1],
                self.laws,
                None if self.share is None else self.share[row : row + 1],
            )
            trial, good = part.newton(v, one, tol)
            if good[0]:
                v, reached, step = trial, scale, step * 2
            else:
                step /= 4
        return (v[0], True) if reached >= 1.0 else (best, False)


def _largest(v: Array) -> NDArray[np.float64]:
    """The largest magnitude in each row."""
    size: NDArray[np.float64] = np.abs(v).max(axis=1)
    return size


def _solve(systems: Array, right: Array) -> Array:
    """Batched solve (n, m, m), (n, m); NaN where a system is singular."""
    try:
        return np.linalg.solve(systems, right[..., None])[..., 0]
    except np.linalg.LinAlgError:
        answer = np.full(right.shape, np.nan, dtype=np.result_type(systems, right))
        for k in range(right.shape[0]):
            try:
                answer[k] = np.linalg.solve(systems[k], right[k])
            except np.linalg.LinAlgError:
                continue
        return answer
