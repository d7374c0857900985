"""What lamps do: the filament's law, and what makes LED and electronic lamps glow.

A tungsten filament runs hotter as the voltage rises, so its resistance grows about as the square
root of the voltage and its light far faster. Both are laws of the trade, from memory.
"""

from __future__ import annotations

from halfsplit.tables.source import Figure

RESISTANCE_EXPONENT = Figure(
    "filament-resistance-exponent",
    0.46,
    "1",
    "filament-law",
    0.40,
    0.50,
    note="R ∝ V^0.46; current ∝ V^0.54",
)
LIGHT_EXPONENT = Figure("filament-light-exponent", 3.4, "1", "filament-law", 3.1, 3.6)
POWER_EXPONENT = Figure("filament-power-exponent", 1.54, "1", "filament-law", 1.50, 1.60)
COLD_SHARE = Figure("filament-cold-share", 0.1, "ratio", "filament-cold", 0.06, 0.12)

LED_GLOW_BARE = Figure("led-glow-bare", 1e-6, "A", "led-glow")
LED_GLOW_MAINS = Figure("led-glow-mains", 3e-5, "A", "led-glow-mains", 5e-6, 2e-4)
LED_DAMP_GUESS = Figure("led-damp-guess", 1e-5, "A", "led-damp")
LED_START = Figure(
    "led-start",
    0.3,
    "of rated voltage",
    "led-lamp-input",
    0.15,
    0.5,
    note="below this an electronic lamp is dark or flashes",
)
LED_INPUT_CAPACITANCE = Figure(
    "led-input-capacitance",
    2.2e-7,
    "F",
    "led-lamp-input",
    2.2e-8,
    1e-6,
    note="a capacitor dropper; a switching driver stores charge behind its rectifier and flashes",
)

# The least share of normal light that a person calls by each word.
LIGHT_WORDS = (
    ("bright", 1.3),
    ("normal", 0.55),
    ("dim", 0.02),
    ("glimmer", 0.0003),
)
LIGHT_WORDS_SOURCE = "lamp-steps"


def filament_resistance(volts: float, rated_V: float, rated_W: float) -> float:
    """Resistance in ohms at ``volts`` RMS: R_hot (V/U)^0.46, never below its cold value.

    R_hot is U²/P. Two in series after a lost neutral share the voltage far less evenly than fixed
    resistances would.
    """
    hot = rated_V * rated_V / rated_W
    share = abs(volts) / rated_V
    warm: float = share**RESISTANCE_EXPONENT.value
    return hot * max(warm, COLD_SHARE.value)


def filament_light(volts: float, rated_V: float) -> float:
    """Light as a share of normal: (V/U)^3.4."""
    share: float = (abs(volts) / rated_V) ** LIGHT_EXPONENT.value
    return share


def light_word(share: float) -> str:
    """What a person would call a share of normal light: off, glimmer, dim, normal, bright."""
    return next((word for word, least in LIGHT_WORDS if share >= least), "off")
