"""The route diagnosis takes, against OpenDSS, a distribution-system simulator (version 10 engine).

How the oracle was made: see ``dss``. The supply whose neutral nothing holds is left to the other
oracles: a source here wants an impedance, and there its strays decide.
"""

from __future__ import annotations

import pytest

from halfsplit.wiring.layout import lay_out
from tests.oracles import dss
from tests.oracles.circuit import GROUND, make
from tests.oracles.installations import EVERY
from tests.oracles.route import present_nodes, tell
from tests.oracles.troubles import LIVE, troubles

HELD = [name for name, one in EVERY.items() if one.supply.earthing != "IT"]


@pytest.mark.parametrize("name", HELD)
def test_live_voltages(name: str) -> None:
    """At 50 or 60 Hz, every node's voltage is OpenDSS's to a part in a million and a microvolt."""
    plan = lay_out(EVERY[name])
    faults = troubles(plan, name)
    pairs = [(node, GROUND) for node in present_nodes(plan, LIVE)]
    told = tell(plan, LIVE, faults, pairs)
    compared = 0
    for h, fault in enumerate(faults):
        network = dss.Network(make(plan, LIVE, fault.effects))
        solved = network.solve()
        for pair in pairs:
            at = network.at(pair[0])
            if at in network.inner:
                continue
            expected = solved[at]
            got = told.volts(h, pair)
            assert abs(got - expected) <= 1e-6 * abs(expected) + 1e-6, (fault.name, pair)
            compared += 1
    assert compared > 18 * (len(pairs) - 4)


def test_twenty_and_more() -> None:
    """At least twenty circuits are held against it."""
    assert len(HELD) >= 20
