"""Trade quantities: read them as people write them, print them as people read them.

SI inside, trade units at the edges. A parsed :class:`Quantity` carries its value, how sure the
person was (``spread``), and whether an instrument showed it as over or under its range. Sizes are
the one exception to SI: mm², or a gauge number marked ``AWG``.
"""

from halfsplit.quantity.printing import (
    amps,
    farads,
    feet,
    gauge,
    hertz,
    metres,
    ohms,
    percent,
    seconds,
    square_mm,
    volts,
    watts,
)
from halfsplit.quantity.reading import (
    ABOUT_SPREAD,
    parse_amps,
    parse_farads,
    parse_hertz,
    parse_length,
    parse_megohms,
    parse_ohms,
    parse_percent,
    parse_seconds,
    parse_size,
    parse_volts,
    parse_watts,
)
from halfsplit.quantity.value import Quantity

__all__ = [
    "ABOUT_SPREAD",
    "Quantity",
    "amps",
    "farads",
    "feet",
    "gauge",
    "hertz",
    "metres",
    "ohms",
    "parse_amps",
    "parse_farads",
    "parse_hertz",
    "parse_length",
    "parse_megohms",
    "parse_ohms",
    "parse_percent",
    "parse_seconds",
    "parse_size",
    "parse_volts",
    "parse_watts",
    "percent",
    "seconds",
    "square_mm",
    "volts",
    "watts",
]
