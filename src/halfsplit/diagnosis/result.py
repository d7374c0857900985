"""What a diagnosis is: suspects, readings compared, dangers, potentials; all data, no words chosen
by the kind of fault."""

from __future__ import annotations

from dataclasses import dataclass

from halfsplit.faults.fault import Fault
from halfsplit.instruments.reading import Reading


@dataclass(frozen=True, slots=True)
class Cause:
    """One fault with its share of belief and the severities it is believed to have."""

    fault: Fault | None  # None: nothing wrong
    probability: float
    severities: tuple[tuple[str, float], ...]
    forgotten: float  # share of its belief that needs a load nobody mentioned

    @property
    def id(self) -> str:
        """The fault's id, "nothing wrong" for none."""
        return self.fault.id if self.fault else "nothing wrong"


@dataclass(frozen=True, slots=True)
class Suspect:
    """Causes that no allowed check can tell apart: its members are places to look."""

    kind: str
    conductors: tuple[str, ...]
    places: tuple[str, ...]
    probability: float
    members: tuple[Cause, ...]
    says: str


@dataclass(frozen=True, slots=True)
class Compared:
    """A reading beside what the leading suspect and a sound installation would show.

    ``predicted`` and ``sound`` are SI figures (None for observations, whose ``chance`` is given
    instead); ``sigma`` is one standard deviation of the prediction; ``fits`` is yes, no or slip.
    """

    reading: Reading
    predicted: float | None
    sigma: float | None
    sound: float | None
    chance: float | None
    fits: str
    slip: float


@dataclass(frozen=True, slots=True)
class Danger:
    """A place that would hurt until mended, over every cause above the threshold.

    ``volts`` and ``milliamps`` are the worst to true earth; ``chance`` the belief that it stands
    above ``limit`` volts; ``why`` says it in words, from the figures.
    """

    place: str
    conductor: str
    volts: float
    milliamps: float
    chance: float
    why: str
    kind: str = "shock"  # shock | unearthed | heat


@dataclass(frozen=True, slots=True)
class Hold:
    """Where one terminal stands for one cause: volts to true earth, and what holds it there."""

    place: str
    conductor: str
    volts: float
    ohms: float
    held: str  # line | neutral | earth | floats | supply ...


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """The whole answer. Probabilities add to 1 with ``none`` and ``sound`` among them."""

    suspects: tuple[Suspect, ...]
    causes: tuple[Cause, ...]
    sound: float
    none: float
    readings: tuple[Compared, ...]
    dangers: tuple[Danger, ...]
    holds: tuple[Hold, ...]
    sound_holds: tuple[Hold, ...]
    left_out: float
    alarm: bool  # heat, shock, water or destroyed equipment reported: isolate first
