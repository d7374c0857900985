"""Plain rows of outlets, fed in turn, for each region's supply and usual cable."""

from __future__ import annotations

from tests.phenomena.site import Site, site

# supply, cable, volts, device
REGIONS = {
    "uk": ("TN-S 230 V", "2.5/1.5 twin and earth", 230.0, "B16"),
    "eu": ("TN-S 230 V", "3G2.5", 230.0, "B16"),
    "na": ("split phase 120/240 V", "14/2 NM-B", 120.0, "15 A breaker"),
}
BOTH = ("uk", "na")  # 230 V and 120 V
PLACES = ("One", "Two", "Three")


def row(
    region: str = "uk",
    lengths: tuple[float, float, float] = (10.0, 10.0, 10.0),
    loads: str = "",
    supply: str = "",
    device: str = "",
    cable: str = "",
    also: str = "",
) -> Site:
    """Three outlets in turn on one circuit; ``loads`` as ``Three: kettle 2 kW``."""
    usual, usual_cable, _, usual_device = REGIONS[region]
    a, b, c = lengths
    return site(
        f"""
region: {region}
supply: {supply or usual}
circuits:
  row:
    device: {device or usual_device}
    cable: {cable or usual_cable}
    run: [{a:.3f} m, One, {b:.3f} m, Two, {c:.3f} m, Three]
    plugged in: {{{loads}}}
{also}"""
    )


def stiff(volts: float, live: str = "single phase", earthing: str = "TN-S") -> str:
    """A supply without impedance to speak of, so that what is read is the circuit's."""
    return (
        f"{{earthing: {earthing}, live: {live}, volts: {volts} V, line: 0.001 ohm, "
        "neutral: 0.001 ohm, earth: 0.001 ohm}"
    )
