"""Made-up jobs to try the program on, kept beside the code as written forms."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files

from halfsplit.errors import NotFound

NAMES = ("boat-shed", "workshop", "stairs")


@dataclass(frozen=True, slots=True)
class Demo:
    """A made-up job: its name on the command line, the call as it came in, the form as typed."""

    name: str
    call: str
    form: str

    @property
    def file(self) -> str:
        """The name of its file, as shown to people."""
        return f"{self.name}.yaml"


def demos() -> tuple[Demo, ...]:
    """Every demo, the first one first. The call is the comment that opens its form."""
    return tuple(_load(name) for name in NAMES)


def demo(name: str) -> Demo:
    """The demo of that name. Raises: NotFound, listing the names there are."""
    if name not in NAMES:
        raise NotFound(f'no demo is called "{name}"; there are {", ".join(NAMES)}')
    return _load(name)


def _load(name: str) -> Demo:
    text = (files("halfsplit") / "demos" / f"{name}.yaml").read_text(encoding="utf-8")
    call = []
    for line in text.splitlines():
        if not line.startswith("#"):
            break
        call.append(line.removeprefix("#").strip())
    return Demo(name, " ".join(call), text)
