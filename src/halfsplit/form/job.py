"""A job as written: the installation, the readings taken, and what goes with them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from halfsplit.form.after import NOTHING_AFTER, After
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.model import Installation, Region


@dataclass(frozen=True, slots=True)
class Job:
    """Everything one written form says.

    ``tools`` are instrument ids at hand (empty: not said). ``sources`` are other sources than the
    supply ("solar", "battery", "generator"), asked about before isolation is trusted. ``edition``
    names the edition of the rules to apply, "" for the newest known. ``after`` is the mend, the
    tests that followed and how things were left.
    """

    installation: Installation
    readings: tuple[Reading, ...] = ()
    tools: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    notes: str = ""
    edition: str = ""
    after: After = NOTHING_AFTER

    @property
    def title(self) -> str:
        """What the job is called."""
        return self.installation.title

    @property
    def region(self) -> Region:
        """Whose words and rules apply."""
        return self.installation.region

    @property
    def history(self) -> tuple[str, ...]:
        """What happened to the installation, in words."""
        return self.installation.history

    def bare(self) -> Job:
        """The same job without where its readings stood in a file and how they were spelt."""
        after = replace(
            self.after,
            mends=tuple(replace(item, line=None) for item in self.after.mends),
            tests=tuple(replace(item, line=None, text="") for item in self.after.tests),
            seen=tuple(replace(item, line=None) for item in self.after.seen),
        )
        readings = tuple(replace(item, line=None, text="") for item in self.readings)
        return replace(self, readings=readings, after=after)
