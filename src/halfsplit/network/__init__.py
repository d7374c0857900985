"""The linear solver, which knows no trade.

Any instrument sees a Thevenin source and shows a number. Any fault adds series resistance to a
few conductors or shunt admittance between a few terminals; nothing is ever subtracted. So node
voltages and branch currents are both unknowns, and one factorisation per set of conditions
serves every fault, every instrument and every sensitivity.
"""

from halfsplit.network.changes import (
    Bridge,
    Change,
    Emf,
    Series,
    bridge_stiffness,
    series_stiffness,
    touched,
)
from halfsplit.network.elements import Branch, Network, Shunt
from halfsplit.network.errors import NetworkError, SingularNetwork, UnknownName
from halfsplit.network.factor import Factored, View, factorise
from halfsplit.network.functionals import Functional, I, V
from halfsplit.network.guard import (
    Solved,
    apply_guarded,
    changes_of,
    solve_guarded,
    with_change,
)
from halfsplit.network.ports import Law, Settled, admittances, alike, attach, reflect, settle
from halfsplit.network.update import TOLERATED_VOLTS, Batch, Changed, apply, batch_of

__all__ = [
    "TOLERATED_VOLTS",
    "Batch",
    "Branch",
    "Bridge",
    "Change",
    "Changed",
    "Emf",
    "Factored",
    "Functional",
    "I",
    "Law",
    "Network",
    "NetworkError",
    "Series",
    "Settled",
    "Shunt",
    "SingularNetwork",
    "Solved",
    "UnknownName",
    "V",
    "View",
    "admittances",
    "alike",
    "apply",
    "apply_guarded",
    "attach",
    "batch_of",
    "bridge_stiffness",
    "changes_of",
    "factorise",
    "reflect",
    "series_stiffness",
    "settle",
    "solve_guarded",
    "touched",
    "with_change",
]
