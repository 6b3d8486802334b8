"""Where figures and formulas come from, and how each was seen.

``status`` is "read" (the figure was seen in the published text), "memory" (recalled, not
seen), "computed" (by a general reference library) or "practice" (a rule of the trade with
no source).  A locator says where in the source: ``CENGEL.at("ex. 8-3")``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

STATUSES = {
    "read": "read in the published text",
    "memory": "from memory",
    "computed": "computed with a reference library",
    "practice": "common practice, no source",
    "derived": "derived here",
}


@dataclass(frozen=True)
class Source:
    """One source; ``str()`` gives what is printed beside a figure."""

    key: str
    title: str
    status: str = "read"
    locator: str = ""

    def __post_init__(self) -> None:
        if self.status not in STATUSES:
            raise ValueError(f"{self.key}: unknown status {self.status!r}")

    def at(self, locator: str, status: str = "") -> Source:
        """The same source with a place in it, and, if need be, another status."""
        return replace(self, locator=locator, status=status or self.status)

    @property
    def how_seen(self) -> str:
        return STATUSES[self.status]

    def __str__(self) -> str:
        place = f", {self.locator}" if self.locator else ""
        mark = "" if self.status in ("read", "practice") else f" ({self.how_seen})"
        return f"{self.title}{place}{mark}"


PRACTICE = Source("practice", "common practice, no source", "practice")
GEOMETRY = Source("geometry", "plane and solid geometry", "memory")
DEFINITION = Source("definition", "definition", "memory")
ADDED = Source("added", "sum of its parts", "derived")
SP811 = Source("sp811", "NIST Special Publication 811, guide for the use of the SI", "memory")
CENGEL = Source("cengel", "Cengel and Cimbala, Fluid Mechanics", "memory")
WHITE = Source("white", "White, Fluid Mechanics", "memory")
MUNSON = Source("munson", "Munson, Young and Okiishi, Fundamentals of Fluid Mechanics")
CRANE = Source("crane", "Crane Technical Paper 410M, Flow of Fluids")
COLEBROOK = Source("colebrook", "Colebrook 1939, J. Inst. Civil Engineers 11", "memory")
IEC60534 = Source("iec60534", "IEC 60534, industrial-process control valves", "memory")
IAPWS95 = Source("iapws95", "IAPWS formulation 1995 for water", "computed")
IAPWS_SR6 = Source(
    "iapws-sr6",
    "IAPWS SR6-08(2011), Revised Supplementary Release on Properties of Liquid Water at 0.1 MPa",
    "memory",
)
IAPWS_SR1 = Source(
    "iapws-sr1",
    "IAPWS SR1-86(1992), Revised Supplementary Release on Saturation Properties of Ordinary Water "
    "Substance",
    "memory",
)
KELL = Source("kell", "Kell 1975, J. Chem. Eng. Data 20, density of liquid water", "memory")
KELL_SQUEEZE = Source(
    "kell-squeeze", "Kell 1975, J. Chem. Eng. Data 20, compressibility of liquid water", "memory"
)
ASHRAE = Source("ashrae", "ASHRAE Handbook", "memory")
ISA = Source("isa", "ISO 2533, standard atmosphere", "memory")
F876 = Source("f876", "ASTM F876, crosslinked polyethylene tubing")
F1960 = Source("f1960", "ASTM F1960, cold-expansion fittings for PEX")
ISO15875 = Source("iso15875", "EN ISO 15875-2, PE-X pipes for hot and cold water", "memory")
IPC = Source("ipc", "International Plumbing Code")
IRC = Source("irc", "International Residential Code")
UPC = Source("upc", "Uniform Plumbing Code", "memory")
NFPA1192 = Source("nfpa1192", "NFPA 1192, recreational vehicles", "memory")
NFPA54 = Source(
    "nfpa54",
    "NFPA 54 / ANSI Z223.1, input at high altitudes, as appliance manuals give it",
    "memory",
)
Z21_22 = Source("z21.22", "ANSI Z21.22, relief valves for hot water supply", "memory")
Z535 = Source("z535", "ANSI Z535.4-2007, signal words")
CPSC = Source("cpsc", "US Consumer Product Safety Commission, tap water scalds, doc. 5098")
TMV3 = Source("tmv3", "UK TMV3 scheme and NHS specification D08, mixed water limits")
HSG274 = Source("hsg274", "UK HSE L8 and HSG274, legionella control")
ASSE1016 = Source(
    "asse1016",
    "ASSE 1016 to its edition of 2011, automatic compensating valves for showers",
)
ASSE1017 = Source("asse1017", "ASSE 1017, mixing valves for hot water distribution")
ASSE1070 = Source("asse1070", "ASSE 1070, water temperature limiting devices")
SPHERE = Source("sphere", "Sphere Handbook 2011, water supply standard")
WHO = Source("who", "WHO technical notes, water in emergencies")
B1_20_1 = Source("b1.20.1", "ASME B1.20.1, general purpose pipe threads")
NSF61 = Source("nsf61", "NSF/ANSI/CAN 61, drinking water components", "memory")
NSF372 = Source("nsf372", "NSF/ANSI/CAN 372, lead content")
EPACT = Source("epact", "US Energy Policy Act, 42 USC 6295 and 10 CFR 430.32")
WATERSENSE = Source("watersense", "US EPA WaterSense specifications")
GREET = Source("greet", "H2 Analysis Resource Center, heating values of fuels")
A112_1_2 = Source("a112.1.2", "ASME A112.1.2, air gaps")
PPI = Source("ppi", "Plastics Pipe Institute, published design notes", "memory")
HENRIQUES = Source("henriques", "Henriques 1947, Arch. Pathology 43, rate of skin burns", "memory")
MORITZ = Source("moritz", "Moritz and Henriques 1947, Am. J. Pathology 23, as summed up")
CLOPPER = Source("clopper", "Clopper and Pearson 1934, Biometrika 26", "memory")
RULE_OF_THREE = Source("rule-of-three", "BMJ 311:619 (1995), no event among n: the rule of three")
JEFFREYS = Source("jeffreys", "Brown, Cai and DasGupta 2001, Statistical Science 16", "memory")
C651 = Source("c651", "AWWA C651, disinfecting water mains, field guide")
EPA_MRDL = Source("epa-mrdl", "US EPA, greatest residual disinfectant level")
EN806 = Source("en806-4", "EN 806-4, installation and testing of drinking water systems")
CCR25 = Source("ccr25", "California Code of Regulations, title 25, section 1362")
HUD = Source(
    "hud", "US HUD, 24 CFR 3280.612(a), manufactured homes, tests and inspection, water", "memory"
)
MELINDER = Source(
    "melinder",
    "Melinder 2010, Properties of Secondary Working Fluids for Indirect Systems, IIR, Paris",
    "computed",
)
THERMODYNAMICS = Source("thermodynamics", "Cengel and Boles, Thermodynamics", "memory")
STATISTICS = Source("statistics", "elementary probability", "memory")
CREEP = Source("creep", "Findley, power and logarithmic laws of creep of plastics", "memory")
OWN = Source("own", "vanplumb's own reasoning", "derived")
NEWTON_LAPLACE = Source("newton-laplace", "Newton-Laplace equation for sound", "memory")
PHYSICS = Source("physics", "general physics", "memory")
SWAMEE = Source("swamee", "Swamee and Jain 1976, J. Hydraulics Division 102", "memory")
BILANIUK = Source("bilaniuk", "Bilaniuk and Wong 1993, sound speed in pure water", "memory")
TORRICELLI = Source("torricelli", "Torricelli's theorem", "memory")
ORIFICE = Source("orifice", "textbook orifice equation", "memory")
JOUKOWSKY = Source("joukowsky", "Joukowsky 1898, water hammer", "memory")
KORTEWEG = Source("korteweg", "Korteweg 1878, wave speed in elastic tubes", "memory")
BOYLE = Source("boyle", "Boyle's law", "memory")
ASPE = Source("aspe", "American Society of Plumbing Engineers, data book", "memory")
CHURCHILL_CHU = Source(
    "churchill-chu",
    "Churchill and Chu 1975, Int. J. Heat Mass Transfer 18, level cylinder",
    "memory",
)
FOURIER = Source("fourier", "Fourier's law of conduction", "memory")
WHITE_VISCOUS = Source("white-viscous", "White, Viscous Fluid Flow, Sutherland's law", "memory")
ASHRAE_FREEZING = Source(
    "ashrae-freezing", "ASHRAE Handbook 2009 and 2019, insulation, time to freezing of still water"
)
