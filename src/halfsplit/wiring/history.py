"""What people say happened before, read as plain words; mends that were tried and did not help.

A text may say several things. Each pattern takes what it matches out of the text, so that "old
wiring replaced" is old and worked on, and "worked until Sunday" is no work done. All judgement.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from halfsplit.wiring.model import NOT_KNOWN

OLD_FROM = 20  # years

_PATTERNS: tuple[tuple[str, str], ...] = (
    ("always so", r"\balways\b|\bnever (?:worked|been right)\b|\bfrom the (?:start|beginning)\b|"
     r"\bsince (?:it|the \w+|they|we)? ?(?:was|were)? ?(?:built|installed|fitted|moved in)\b|"
     r"\bsince new\b"),
    ("worked before", r"\bworked (?:well|fine|normally|until|till|before|for)\b|\bused to work\b|"
     r"\b(?:fine|well|right) (?:until|till|before)\b|\bsuddenly\b|\bstopped working\b"),
    ("neglected", r"\b(?:never|not) (?:been )?(?:tested|inspected|serviced|maintained)\b|"
     r"\bneglected\b|\b(?:stood )?empty\b|\bvacant\b|\bunused\b|\bderelict\b"),
    ("tested", r"\btest(?:ed|ing|s)?\b|\binspect(?:ed|ion)\b|\b(?:left|switched|been) off\b"),
    ("remade", r"\bre-?(?:made|terminated|tightened|seated)\b|\btightened\b"),
    ("amateur", r"\b(?:own|self-?made|home-?made) (?:wiring|work|extension|repairs?)\b|\bdiy\b|"
     r"\b(?:by|of) (?:the |an? |my |his |her |their )?(?:\w+ )?(?:owner|householder|tenant|"
     r"occupant|occupier|friend|neighbour|relative|handyman)\b|\bamateur\b|\bunqualified\b|"
     r"\bbotched\b|\bowner'?s\b"),
    ("dug", r"\bdug\b|\bdigging\b|\bexcavat\w*|\btrench\w*|\bspade\b|\bpost ?hole\w*"),
    ("worked on", r"\bworks?\b(?! (?:again|fine|well|ok|now|when|only|normally)\b)|\bworked on\b|"
     r"\bnew\b|\balter(?:ed|ations?)\b|\brenovat\w*|\bdecorat\w*|\bdrill\w*|\bnail\w*|"
     r"\bbuilders?\b|\brefit\w*|\bnotched\b|\bre-?wired\b|\bre-?placed\b|\brenewed\b|\bmoved\b|"
     r"\bre-?piping\b|\bchanged\b|\bextended\b|\bextension\b|\bscrew(?:s|ed)\b|\binstalled\b|"
     r"\bfitted\b|\badded\b|\bupgraded\b|\bswapped\b|\bconverted\b"),
    ("water", r"\bwater\w*|\bflood\w*|\bleak\w*|\bwet\b|\bburst\b|\brain\w*|\bdamp\w*|\bhumid\w*|"
     r"\bcondensation\b|\bmoist\w*|\bfrost\w*|\bsoaked\b"),
    ("rodents", r"\brodent\w*|\bmice\b|\bmouse\b|\brats?\b|\bsquirrel\w*|\bmarten\w*|\bgnaw\w*|"
     r"\bchewed\b"),
    # A circuit without protective conductor dates from before one was asked for.
    ("old", r"\bold\b|\baged\b|\bancient\b|\boriginal\b|\btired\b|\bdated\b|\bbrittle\b|"
     r"\brubber\b|\bcloth\b|\bperished\b|\bcorroded\b|\bunearthed\b|"
     r"\bungrounded\b"),
    ("outdoor", r"\boutdoors?\b|\boutside\b|\bgarden\b|\bunderground\b|\bburied\b"),
    ("aluminium", r"\balumini?um\b"),
    ("storm", r"\b(?:thunder)?storm\w*|\blightning\b|\bthunder\b|\btrees?\b|\bgales?\b|\bwind\b|"
     r"\bhigh winds?\b|\bsurges?\b"),
    ("worn", r"\bworn\b|\bloose (?:plug|socket|outlet)\w*|\bheavy use\b"),
    ("overloaded", r"\boverload\w*|\bundersized\b|\bhot\b|\bscorch\w*|\bheavy load\w*|\bwarm\b|"
     r"\bburn\w*|\b(?:space|fan) heaters?\b"),
    ("loose", r"\bloose\b"),
    ("demand grown", r"\bdemand\b|\bmore load\b|\bextra load\w*|\bnew (?:houses|neighbours)\b"),
)  # fmt: skip
PATTERNS = tuple((word, re.compile(pattern, re.I)) for word, pattern in _PATTERNS)
WORDS = tuple(dict.fromkeys(word for word, _ in PATTERNS))

_AGED = re.compile(r"(?i)\b(\d+)[- ]years?[- ]old\b")
_LONG_AGO = re.compile(r"(?i)\byears? (?:ago|before|earlier)\b")
_ASIDE = re.compile(r"(?i)\bpush-?in\b|\bnothing plugged in\b|\bunknown\b|\bnot stated\b|"
                    r"\byears? of age\b|\bpigtail\w*")  # fmt: skip

# "Remade without effect" is no work that may have gone wrong: it clears what it names.
_WITHOUT_EFFECT = re.compile(
    r"(?i)\bwithout (?:any )?(?:effect|success|change|avail|improvement|result)\b|"
    r"\b(?:no|any) (?:effect|change|difference|improvement|better)\b|\bto no avail\b|"
    r"\b(?:did(?:n't| not)|has(?:n't| not)) help(?:ed)?\b|\bin vain\b|\bof no help\b|"
    r"\bstill (?:there|the same|faulty|dead|trips|happens)\b"
)
Part = Literal[
    "joint", "accessory", "device", "cable", "load", "electrode", "link", "supply", "board"
]
_PARTS: tuple[tuple[Part, str], ...] = (
    ("joint", r"joint|terminat|connection|splice|terminal"),
    ("accessory", r"socket|outlet|receptacle|switch|dimmer|accessor|fitting|fixture|gfci|holder"),
    ("device", r"breaker|\brcd|\brcbo|\bmcb|\bfuse\b|\bdevice"),
    ("cable", r"cable|\bwir(?:e|ing)\b|\brun\b|\bcore"),
    ("load", r"lamp|bulb|element|appliance|heater|motor|pump|cord|\bflex|ballast|driver"),
    ("electrode", r"\brod\b|electrode"),
    ("link", r"\blink"),
    ("supply", r"service|meter|supply|mains"),
    ("board", r"panel|\bboard|consumer unit|fuse ?box"),
)
_MANY = re.compile(r"(?i)\b(?:all|every|each|both)\b|(?:joint|termination|connection|splice|"
                   r"terminal|socket|outlet|receptacle|fitting|fixture|cable|lamp|bulb)s\b|"
                   r"switches\b")  # fmt: skip
_KEYS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (r"\b(?:line|hot|live|phase|L)\b", ("L", "L1", "L2", "L3")),
    (r"\b(?:neutrals?|N)\b", ("N", "PEN")),
    (r"\b(?:earth|ground|cpc|protective|E)\b", ("E",)),
)
_KEY = re.compile(r"\b(?:L\d|SL\d?|T\d)\b")
_BOARD = re.compile(r"(?i)\b(?:panel|consumer unit|fuse ?box|fuse ?board|switchboard|"
                    r"distribution board|breaker box)\b")  # fmt: skip
_ORIGIN = re.compile(r"(?i)\b(?:service|meter|mains|supply cable|network|utility|"
                     r"power company)\b")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Tried:
    """A mend that did not help: the ``part`` it renewed, of which conductors (none: of all), and
    whether it was said of ``many``."""

    part: Part
    conductors: tuple[str, ...] = ()
    many: bool = False


@lru_cache(maxsize=4096)
def plain_words(text: str) -> tuple[str, ...]:
    """The plain words that a text means, in the order of the table; none for a mend in vain."""
    if _WITHOUT_EFFECT.search(text):
        return ()
    rest = _AGED.sub(lambda m: " old " if int(m[1]) >= OLD_FROM else " ", text)
    found = []
    for word, pattern in PATTERNS:
        if word == text.casefold():
            return (word,)
        rest, count = pattern.subn(" ", rest)
        if count and not (word == "worked on" and _LONG_AGO.search(text)):
            found.append(word)
    return tuple(found)


def all_words(texts: Iterable[str]) -> frozenset[str]:
    """The plain words of all the texts."""
    return frozenset(word for text in texts for word in plain_words(text))


@lru_cache(maxsize=4096)
def tried(text: str) -> Tried | None:
    """The mend that a text says did not help; None where it says no such thing."""
    if not _WITHOUT_EFFECT.search(text):
        return None
    said = _WITHOUT_EFFECT.sub(" ", text)
    part: Part = next((p for p, words in _PARTS if re.search(words, said, re.I)), "accessory")
    keys = [key for words, keys in _KEYS if re.search(words, said, re.I) for key in keys]
    return Tried(part, (*keys, *_KEY.findall(said)), bool(_MANY.search(said)))


def about(text: str) -> Literal["board", "origin", ""]:
    """What a text said of the whole house is about: its board, its supply, or the house."""
    if _BOARD.search(text):
        return "board"
    return "origin" if _ORIGIN.search(text) else ""


def understood(text: str) -> bool:
    """Whether a text means anything here, if only that something is young, or not known."""
    known = plain_words(text) or tried(text) or text in NOT_KNOWN
    return bool(known or any(p.search(text) for p in (_AGED, _LONG_AGO, _ASIDE)))
