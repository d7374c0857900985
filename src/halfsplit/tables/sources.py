"""The list of sources, by id. Titles are our own words for where a number was read."""

from __future__ import annotations

from types import MappingProxyType

from halfsplit.errors import NotInTable
from halfsplit.tables.source import Kind, Source


def _source(id: str, title: str, edition: str = "", kind: Kind = "published") -> Source:
    return Source(id, title, edition, kind)


_ALL = (
    # conductors and cables
    _source(
        "iec60228",
        "IEC 60228 / HD 383 / DIN VDE 0295 values, cable-maker technical table",
        "2004",
    ),
    _source("iec60228-memory", "IEC 60228, further sizes and aluminium", "2004", "from memory"),
    _source(
        "iec60228-annex",
        "IEC 60228 annex correction table as reproduced by a cable maker",
        "2004",
    ),
    _source("winding-wire", "Winding-wire maker, resistance conversion factors page"),
    _source("teaching-alpha", "Teaching module V, conductor resistance and temperature"),
    _source(
        "alpha-trade",
        "IEC 60228 annex correction table: the rounded coefficient it follows",
        "2004",
    ),
    _source("alpha-al", "IEC 60889 aluminium wire, coefficient at 20 °C", "", "from memory"),
    _source("iacs", "IEC 60028 annealed copper, resistivity at 20 °C", "1925", "from memory"),
    _source(
        "al-rho", "IEC 60889 hard-drawn aluminium wire, resistivity at 20 °C", "", "from memory"
    ),
    _source("nec-table8-2011", "Design-tutorial page quoting NEC Ch.9 Table 8", "2011"),
    _source("nec-table8-solid", "NEC Ch.9 Table 8, solid conductors", "2011", "from memory"),
    _source("nec-table9", "Engineering note reproducing NEC Table 9"),
    _source("astm-b258", "ASTM B258 gauge law d = 0.127 mm x 92^((36-n)/39)", "", "from memory"),
    _source("awg-guide", "Cable guidance page, AWG/mm² conversion"),
    _source("reactance", "Low-voltage cable reactance about 0.08 mΩ/m", "", "common practice"),
    _source(
        "locke-4.3",
        "Locke, Guide to the Wiring Regulations (Wiley 2008) Appendix Table 4.3",
        "2008",
    ),
    _source(
        "flat-cable-sizes", "BS 6004 flat twin and three-core with cpc, sizes", "", "from memory"
    ),
    _source("nm-sizes", "UL 719 nonmetallic-sheathed cable, usual sizes", "", "from memory"),
    _source("harmonised-sizes", "HD 21 / EN 50525 cables, usual sizes", "", "from memory"),
    _source("nm-capacitance", "Electronics magazine, measured: 14/2 cable, 5.26 nF for 250 ft"),
    _source(
        "te-capacitance",
        "UK electrician's explanation of capacitance in switch cables: about 100 pF/m upwards",
    ),
    _source(
        "capacitance-split",
        "Share of a measured pair capacitance between core-core and core-earth",
        "",
        "judgement",
    ),
    _source(
        "insulation-per-metre",
        "Healthy circuits of some tens of metres read hundreds of megohms or more",
        "",
        "judgement",
    ),
    # supplies and voltage
    _source("esqcr-2002", "Regulator history note citing ESQCR 2002 / supplier letter", "1995"),
    _source("uk-pre-1995", "Regulator history note citing ESQCR 2002 / supplier letter", "1988"),
    _source("en50160", "Trade forum describing EN 50160"),
    _source("us-outlet", "Home-inspection article: 120 V within 5 %"),
    _source("ansi-c84.1", "ANSI C84.1 Table 1", "", "from memory"),
    _source("c84.1-guide", "Regulator maker's guide citing ANSI C84.1"),
    _source("illinois", "Trade forum quoting 83 Ill. Adm. Code 410.300"),
    _source("iec60038", "IEC 60038 standard voltages, 230 V within 10 %", "2009", "from memory"),
    _source(
        "ze-declared",
        "UK practice; 0.35 ohm and 21 ohm seen in forum threads, 0.8 ohm and 16 kA from memory",
        "",
        "common practice",
    ),
    _source("ze-0.35", "Electricians' forum, differing Ze readings"),
    _source("ze-range", "Usual span of external loop impedance", "", "judgement"),
    _source("frequency", "Public supply frequency", "", "common practice"),
    _source("live-systems", "Usual low-voltage supply arrangements", "", "common practice"),
    _source(
        "tt-200",
        "Electricians' question page citing BS 7671 Table 41.5 note 2",
        "2008",
    ),
    _source("tt-inverse", "Forum quoting On-Site Guide"),
    _source("source-z-jp", "Japanese hobby-engineering page, measured"),
    # lamps
    _source("filament-law", "Tungsten filament characteristics: exponents", "", "from memory"),
    _source("filament-cold", "Cold tungsten filament about a tenth of hot", "", "from memory"),
    _source("led-glow", "Electronics blog: an efficient LED glows at about 1 µA"),
    _source("led-glow-mains", "Mains LED lamps need tens of microamps to glow", "", "from memory"),
    _source("led-damp", "Personal blog (estimate, not measured)"),
    _source("led-lamp-input", "Mains LED lamp input stage", "", "judgement"),
    _source("lamp-steps", "What a person calls glimmer, dim, normal, bright", "", "judgement"),
    # instruments
    _source("dmm-10M", "Engineering resource page: multimeters present about 10 megohm"),
    _source("dmm-100pF", "Multimeter input capacitance", "", "from memory"),
    _source("phantom", "Q&A page on a 16 V reading"),
    _source("en61243-3", "EN 61243-3 scope summary"),
    _source("iec61557-4", "18th-edition course notes (BS EN 61557-4)"),
    _source("iec61557-2", "IEC 61557-2 extract", "2019"),
    _source("iec61557-1", "IEC 61557-1 extract"),
    _source("iec61557-rest", "IEC 61557-3/-4/-5", "", "from memory"),
    _source("ghost-85", "Q&A summary of an application note"),
    _source("ghost-au", "Australian contractors' association"),
    _source("clamp-earth", "Earth-testing handbook, page reproduced on a trade site"),
    _source("ncv", "Safety training article"),
    _source("loop-scatter", "Electricians' forum: three readings at one socket"),
    _source("meter-practice", "Usual instruments on site", "", "common practice"),
    _source("voltage-method", "Cyclopedia of Architecture, Carpentry and Building"),
    # practice
    _source("joint-practice", "Sound and tired joints as met on site", "", "common practice"),
    _source("filter-practice", "Mains filter capacitors in appliances", "", "common practice"),
    _source("leads-practice", "Test lead resistance", "", "common practice"),
    _source("forum-ycap", "Electricians' forum: 0.1 µF line to earth leaks about 7.5 mA"),
    _source("touch-limits-product", "Product leakage limits 0.75 / 3.5 mA", "", "from memory"),
    _source("damp", "Damp and carbonised insulation", "", "judgement"),
    # loop impedance and disconnection
    _source(
        "bs7671-2008-41.2", "BS 7671 Table 41.2 reproduced in Locke (Wiley 2008) Appendix 3", "2008"
    ),
    _source(
        "bs7671-2008-41.3", "BS 7671 Table 41.3 reproduced in Locke (Wiley 2008) Appendix 3", "2008"
    ),
    _source(
        "bs7671-2018-41.3",
        "BS 7671 Table 41.3 by its defining formula (reg. 411.4.4)",
        "2018",
        "computed",
    ),
    _source("bs7671-2018-fuses", "BS 7671 Tables 41.2 and 41.4", "2018", "from memory"),
    _source("bs3036-5A", "Exam-revision forum thread", "2008"),
    _source("loop-80", "Trade-body technical magazine (explains BS 7671 Appendix 3 rule)", "2015"),
    _source("loop-uplift", "Trade journal article on loop testing"),
    _source("factor-1.20", "Forum worked answer citing On-Site Guide table 9c"),
    _source("table41.1", "BS 7671 Table 41.1 as reproduced on a teaching page", "2008"),
    _source("distribution-times", "BS 7671 regs 411.3.2.3 and 411.3.2.4", "2018", "from memory"),
    _source("iec-times", "Institution technical forum on IEC 60364 table 41A", "1992"),
    _source("nz-typeC", "NZ Electrical Workers Registration Board, Electron, question corner"),
    _source("asnzs3000", "AS/NZS 3000 Table 8.1", "2018", "from memory"),
    _source("touch-half", "Institution technical forum"),
    # insulation
    _source("table64", "18th-edition course notes, Part 6 (BS 7671 Table 64)", "2018"),
    _source(
        "iec60364-6",
        "Bane NOR technical rules, minimum insulation resistance in LV installations",
        "IEC 60364-6",
    ),
    _source("ir-250", "Trade magazine technical page (reg. 643.3.3)", "2023"),
    _source("table71A", "Inspection notes citing BS 7671 Table 71A", "16th"),
    _source("whitfield-16", "Whitfield, Electrician's Guide (16th ed.) 8.5.4", "16th"),
    _source("ir-aus", "Australian wiring-rules test notes"),
    _source("is732", "Teaching page on IS 732"),
    _source(
        "nec-rule66",
        "Cyclopedia of Architecture, Carpentry and Building, NEC rule 66",
        "early",
    ),
    _source("ir-expect", "UK training site, insulation resistance page"),
    _source("neta", "ANSI/NETA table 100.1", "", "from memory"),
    # residual devices
    _source("rcd-a2", "Institution technical forum discussing regs 643.7.1/643.8", "2022"),
    _source("rcd-150", "Electricians' forum quoting guidance on the 2018 forms", "2018"),
    _source(
        "rcd-college",
        "Basic Electrical Installation Work (college text), RCD test section",
    ),
    _source("rcd-band", "Switchgear maker's training page"),
    _source(
        "rcd-typical", "Usual trip point of a sound device on sine current", "", "common practice"
    ),
    _source("iec61008-times", "IEC 61008-1 / IEC 61009-1", "", "from memory"),
    _source("iec61008-A", "IEC 61008-1", "", "from memory"),
    _source("iec62423", "IEC 62423 types F and B", "", "from memory"),
    _source("iec60898", "IEC 60898-1 instantaneous tripping ranges", "", "from memory"),
    _source("gfci-classA", "NEC definition with UL 943 note, engineering glossary"),
    _source("ul943-time", "Breaker maker's technical FAQ"),
    _source("gfpe", "Trade forum: equipment protection at about 30 mA"),
    _source("standing-30", "Standing leakage under 30 % of the rating", "2018", "from memory"),
    # ring
    _source("ring-rules", "Ring-final testing note citing On-Site Guide table 11"),
    _source("ring-college", "Basic Electrical Installation Work, ring final test"),
    _source("ring-derivation", "Derivation sheet for stage 3 of the ring test"),
    # shock
    _source("iec479-old", "IEC 479-1 (older edition) table quoted in an electronics note", "1994"),
    _source("iec60479-2005", "IEC TS 60479-1 Table 1", "2005", "from memory"),
    _source("body-wet", "Note quoting IEC 479-1"),
    _source("heart", "Mitolo, Electrical Safety of Low-Voltage Systems, Table 5.1 and example 5.1"),
    _source("zones", "Maker's Electrical Installation Guide chapter F, Fig. F1 (citing IEC 60479)"),
    _source(
        "zone-bounds",
        "Introduction to Electrical Engineering (Czech text), table of IEC 479 zones",
    ),
    _source("c1-curve", "IEC TS 60479-1", "2005", "from memory"),
    _source("c1-30", "Blog comparing editions of IEC 479-1"),
    _source("shock-thresholds", "Technical explainer on IEC 60479"),
    _source("let-go-5", "IEC TS 60479-1: plan for let-go at 5 mA, everyone", "2018", "from memory"),
    _source("dalziel", "Notes based on Dalziel"),
    _source("touch-limits", "University EMF portal, limit values"),
    _source("skin-contact", "US electrical forum post"),
    _source("ieee80", "Note on IEEE 80"),
    # voltage drop
    _source("vd-uk", "Training-school guide to BS 7671 Appendix 4", "2018"),
    _source("vd-nec", "US trade forum quoting 210.19 note"),
    _source(
        "mvam-70",
        "Wholesaler catalogue 2025/26 reproducing the BS 7671 Appendix 4 single-core table",
        "2018",
    ),
    _source("mvam-flex", "Cable distributor reproduction of Table 4F3B", "2018"),
    _source("mvam-90", "Cable distributor reproduction of Table 4E4B", "2018"),
    _source("vd-us-K", "Exam-practice page"),
    # order of work
    _source("gs38-college", "College revision page on GS38/EAWR 1989"),
    _source("gs38", "Forum quoting HSE GS38 paragraph 9"),
    _source("nfpa70e", "Kentucky OSH reply letter quoting 120.1(5)"),
    _source("sequence", "Testing notes; course notes citing 643.2 to 643.11", "2018"),
    _source("eawr14", "Safety training article on EAWR 1989 reg. 14"),
    _source("codes", "Contractor guide to condition-report codes (Best Practice Guide 4)"),
    _source("forum-classes", "Electricians' forum on a ring without continuity"),
    _source("contractor-classes", "Local contractor how-to page on report codes"),
    _source("training-classes", "Training page on report codes"),
    _source("rented-2020", "Contractor page on the 2020 Regulations", "2020"),
)

SOURCES = MappingProxyType({source.id: source for source in _ALL})
"""Every source by id."""


def source(id: str) -> Source:
    """The source with that id. Raises: NotInTable."""
    try:
        return SOURCES[id]
    except KeyError:
        raise NotInTable("sources", id, SOURCES) from None
