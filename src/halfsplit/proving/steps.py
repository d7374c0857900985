"""Each test as numbered steps with its cautions, in the words of the region and the circuit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.faults.words import conductor_words, joined, vocabulary
from halfsplit.proving.sites import Sites
from halfsplit.quantity import amps
from halfsplit.wiring.model import Circuit, Device

PROVE = (
    "prove the detector on a known source, test every pair of conductors and each to an "
    "independent {earth}, then prove the detector again"
)
DEAD_CAUTION = "Only while isolated, locked off and proved dead."
LIVE_CAUTION = (
    "Live: only where it is justified and you are permitted; insulated probes, nothing bridged, "
    "one hand where you can."
)
LOCAL = "Local rules and licensed practice come first; the person on site decides."


@dataclass(frozen=True, slots=True)
class Voice:
    """Says steps for one circuit."""

    sites: Sites
    circuit: Circuit
    sources: tuple[str, ...] = ()

    def word(self, key: str) -> str:
        """A trade word of the region."""
        return vocabulary(self.sites.inst.region)[key]

    def conductor(self, key: str) -> str:
        """A conductor's name in the region."""
        return conductor_words(key, self.sites.inst.region)

    def pair(self, port: str) -> str:
        """ "L+N-E" as words: "line and neutral together to earth"."""
        sides = [self._joined(side.split("+")) for side in port.split("-")]
        sides = [f"{side} together" if " and " in side else side for side in sides]
        return " to ".join(sides)

    def _joined(self, keys: Sequence[str]) -> str:
        """Conductors in words; L stands for every line where the circuit has several."""
        several = f"every {self.word('line')}" if len(self.circuit.legs) > 1 else ""
        return joined(tuple(several if several and k == "L" else self.conductor(k) for k in keys))

    def device(self, device: Device | None = None) -> str:
        """A device by its name; one without a name of its own by its circuit."""
        device = self.circuit.device if device is None else device
        if device.name == "main switch":
            return "the main switch"
        if device.name != self.circuit.name:
            return device.name
        kind = {"rcd": "RCD", "rcbo": "RCBO", "gfci": "ground-fault breaker"}
        return f"the {kind.get(device.kind, device.kind)} of {device.name}"

    def dead(self) -> tuple[str, ...]:
        """Isolation and proving dead."""
        device, board = self.circuit.device, self.circuit.board
        how = "take it out and keep it" if device.kind == "fuse" else "switch it off"
        steps = [
            f"find {self.device()} at {board} and make sure that it is the right one",
            f"{how}, lock it off with your own key and hang a notice at {board}",
        ]
        if self.sources:
            steps.append(f"isolate the other sources too, each at its own place: "
                         f"{joined(self.sources)}")  # fmt: skip
        if device.kind != "none" and "N" not in device.poles:
            steps.append(
                f"{self.device()} does not part the {self.word('neutral')}: isolate every "
                f"circuit that may share it before you part it"
            )
        return (*steps, PROVE.format(earth=self.word("earth")))

    def together(self, line_key: str, key: str, place: str, positions: str) -> tuple[str, ...]:
        """R1+R2 or R1+Rn: a link at the board, a reading at the place."""
        line, other = self.conductor(line_key), self.conductor(key)
        return (
            *self._quiet(),
            "join the leads and null them, or note what they read",
            f"take the {line} core out of {self.device()}, then link it to the {other} "
            f"of this circuit at {self.circuit.board}; write the link down as an open item",
            *([positions] if positions else []),
            f"measure between {line} and {other} at {place}",
            "take the link out, put the core back, and strike the open item out",
        )

    def alone(self, key: str, place: str, positions: str) -> tuple[str, ...]:
        """One conductor end to end with a long lead."""
        name = self.conductor(key)
        return (
            *self._quiet(),
            "join the leads, the long one too, and null them",
            *([positions] if positions else []),
            f"measure from the {name} at {self.circuit.board} to the {name} at {place}",
        )

    def ring_ends(self) -> tuple[str, ...]:
        """End to end of each conductor of a ring."""
        return (
            *self._quiet(),
            "null the leads",
            self._shared(),
            f"take both ends of the ring out of their terminals at {self.circuit.board}, and keep "
            "the two legs apart; write the lifted cores down as open items",
            "measure end to end: line, neutral, protective conductor",
            "leave them out for the next test, or put them back and strike the open items out",
        )

    def ring_cross(self, key: str, place: str) -> tuple[str, ...]:
        """Opposite ends joined, a reading at the point."""
        line, other = self.conductor("L"), self.conductor(key)
        return (
            *self._quiet(),
            f"with both ends out at {self.circuit.board}, join the outgoing {line} to the "
            f"returning {other}, and the outgoing {other} to the returning {line}: two open items",
            f"measure between {line} and {other} at {place}",
            "part the ends again and strike the open items out",
        )

    def insulation(self, port: str, test_volts: float, equipment: str) -> tuple[str, ...]:
        """Insulation of the circuit."""
        steps = [*self._quiet()]
        if equipment:
            steps.append(f"{equipment} cannot be unplugged: keep the live conductors joined and "
                         "do not test between them")  # fmt: skip
        else:
            steps.append("take out lamps, surge protectors and everything electronic; close the "
                         "switches")  # fmt: skip
        if "N" in port:
            steps.append(self._shared())
            steps.append(
                f"take this circuit's {self.conductor('N')} out of its bar at "
                f"{self.circuit.board}, so that only this circuit is tested; an open item"
            )
        if "+" in port:
            first = port.split("-")[0]
            steps.append(f"join {self._joined(first.split('+'))}")
        steps += [
            f"at {test_volts:.0f} V d.c. measure {self.pair(port)}; wait until it settles",
            "let it discharge, put every conductor back, strike the open items out",
        ]
        return tuple(steps)

    def polarity(self, place: str) -> tuple[str, ...]:
        """Every conductor where it belongs."""
        return (
            f"at {place}, see by the continuity readings that each terminal holds its own "
            f"conductor: {joined(tuple(self.conductor(k) for k in self._keys(place)))}",
            f"see that every switch and single-pole device parts the {self.conductor('L')}",
        )

    def pull(self, place: str) -> tuple[str, ...]:
        """Each core held."""
        return (
            f"pull every core at {place} by hand, one at a time: none may move",
            "tighten to the maker's torque where one is given; no insulation under the screw, no "
            "bare copper outside it",
        )

    def loop(self, key: str, place: str, device: Device | None, end: bool) -> tuple[str, ...]:
        """Loop impedance at a place; ``end`` says that the circuit goes no further there."""
        low = (
            f"{self.device(device)} trips at {amps(device.residual_amps)}: use the range that "
            "does not trip, which may read a little high"
            if device
            else "use the high-current range"
        )
        line, earth = self.conductor(key), self.conductor("E")
        return (
            "close up, unplug loads, switch on",
            low,
            f"measure {line} to {earth} at {place}{', the far end' if end else ''}",
        )

    def trip(self, device: Device, times: float) -> tuple[str, ...]:
        """Timing of a residual device."""
        return (
            "unplug loads: what they leak adds to the test current",
            f"set the tester to {amps(device.residual_amps)}, {times:g} x, a.c.",
            f"test {self.device(device)} from both halves of the wave; write the longer time down",
            f"switch {self.device(device)} on again",
        )

    def _keys(self, place: str) -> tuple[str, ...]:
        return self.sites.keys(self.circuit, place)

    def _shared(self) -> str:
        return (f"before the {self.conductor('N')} is parted: every circuit that may share it off, "
                "0 A by a clamp on it, proved dead")  # fmt: skip

    def _quiet(self) -> tuple[str, ...]:
        return ("stay isolated and proved dead; unplug everything",)
