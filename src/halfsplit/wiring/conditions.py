"""Conditions: what is energised, isolated, linked, switched on or plugged in during a reading.

*As set* by the person; *as found*, once devices have tripped and loads have settled, is
computed by ``behaviour``. Everything not mentioned stands as the installation describes it.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Conditions:
    """Changes from the installation as described; hashable, so equal conditions share one solve.

    ``off``/``on``: names of devices opened/closed ("main switch", a circuit's name for its
    device). ``positions``: (switch name, position). ``unplugged``/``plugged``: load names, or
    "all" in ``unplugged`` for everything on the circuits under test. ``links``: pairs of
    terminals (node names) joined by a temporary link. ``lifted``: ids of joints parted.
    ``added``: temporary loads (point, kind, watts), such as a test lamp left in. ``dead`` marks a
    test made isolated: 0 Hz, the instrument is the source.
    ``warm`` and ``wet`` (in or after rain) let in what leaks only then.
    """

    off: tuple[str, ...] = ()
    on: tuple[str, ...] = ()
    positions: tuple[tuple[str, str], ...] = ()
    unplugged: tuple[str, ...] = ()
    plugged: tuple[str, ...] = ()
    links: tuple[tuple[str, str], ...] = ()
    lifted: tuple[str, ...] = ()
    added: tuple[tuple[str, str, float], ...] = ()
    dead: bool = False
    warm: bool = False
    energised: bool = True
    wet: bool = False

    def key(self) -> tuple[object, ...]:
        """A canonical form: the same conditions written in another order compare equal."""
        return (
            tuple(sorted(self.off)),
            tuple(sorted(self.on)),
            tuple(sorted(self.positions)),
            tuple(sorted(self.unplugged)),
            tuple(sorted(self.plugged)),
            tuple(sorted(tuple(sorted(link)) for link in self.links)),
            tuple(sorted(self.lifted)),
            tuple(sorted(self.added)),
            self.dead,
            self.warm,
            self.energised,
            self.wet,
        )


AS_DESCRIBED = Conditions()
