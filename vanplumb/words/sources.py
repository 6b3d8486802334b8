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
CENGEL = Source("cengel", "Cengel and Cimbala, Fluid Mechanics", "memory")
WHITE = Source("white", "White, Fluid Mechanics", "memory")
CRANE = Source("crane", "Crane Technical Paper 410M, Flow of Fluids")
COLEBROOK = Source("colebrook", "Colebrook 1939, J. Inst. Civil Engineers 11", "memory")
IEC60534 = Source("iec60534", "IEC 60534, industrial-process control valves", "memory")
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
IPC = Source("ipc", "International Plumbing Code")
NFPA1192 = Source("nfpa1192", "NFPA 1192, recreational vehicles", "memory")
NFPA54 = Source(
    "nfpa54",
    "NFPA 54 / ANSI Z223.1, input at high altitudes, as appliance manuals give it",
    "memory",
)
Z21_22 = Source("z21.22", "ANSI Z21.22, relief valves for hot water supply", "memory")
CPSC = Source("cpsc", "US Consumer Product Safety Commission, tap water scalds, doc. 5098")
TMV3 = Source("tmv3", "UK TMV3 scheme and NHS specification D08, mixed water limits")
HSG274 = Source("hsg274", "UK HSE L8 and HSG274, legionella control")
B1_20_1 = Source("b1.20.1", "ASME B1.20.1, general purpose pipe threads")
NSF61 = Source("nsf61", "NSF/ANSI/CAN 61, drinking water components", "memory")
NSF372 = Source("nsf372", "NSF/ANSI/CAN 372, lead content")
A112_1_2 = Source("a112.1.2", "ASME A112.1.2, air gaps")
PPI = Source("ppi", "Plastics Pipe Institute, published design notes", "memory")
HENRIQUES = Source("henriques", "Henriques 1947, Arch. Pathology 43, rate of skin burns", "memory")
CLOPPER = Source("clopper", "Clopper and Pearson 1934, Biometrika 26", "memory")
RULE_OF_THREE = Source("rule-of-three", "BMJ 311:619 (1995), no event among n: the rule of three")
C651 = Source("c651", "AWWA C651, disinfecting water mains, field guide")
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
