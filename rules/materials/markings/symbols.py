"""The symbols that markings are written in. Data: every table names the document it follows.

`from memory` means that the table was written down without the document at hand; the letters of
ISO 1043-2 marked so agree with the examples of ISO 1043-2:2011 that are public (GF, MD, GCM, MED(Al)).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

SOURCES: Mapping[str, str] = {
    "POLYMERS": "ISO 1043-1:2011, from memory",
    "POLYAMIDES": "ISO 1043-1:2011, from memory",
    "RUBBERS": "ISO 1629, from memory",
    "ELASTOMERS": "ISO 18064:2022, from memory",
    "QUALIFIERS": "ISO 1043-1:2011 and ISO 18064:2022, from memory",
    "FILLER_MATERIALS": "ISO 1043-2:2011, from memory",
    "FILLER_FORMS": "ISO 1043-2:2011, from memory",
    "FLAME_RETARDANT_GROUPS": "ISO 1043-4:1998, from memory",
}

POLYMERS: Mapping[str, str] = {
    "ABS": "acrylonitrile-butadiene-styrene",
    "ACS": "acrylonitrile-chlorinated polyethylene-styrene",
    "AES": "acrylonitrile-ethylene-propylene-diene-styrene, in older markings",
    "AEPDS": "acrylonitrile-ethylene-propylene-diene-styrene",
    "AMMA": "acrylonitrile-methyl methacrylate",
    "ASA": "acrylonitrile-styrene-acrylate",
    "CA": "cellulose acetate",
    "CAB": "cellulose acetate butyrate",
    "CAP": "cellulose acetate propionate",
    "CP": "cellulose propionate",
    "COC": "cycloolefin copolymer",
    "EP": "epoxide",
    "ETFE": "ethylene-tetrafluoroethylene",
    "EVAC": "ethylene-vinyl acetate",
    "EVOH": "ethylene-vinyl alcohol",
    "FEP": "perfluoro(ethylene-propylene)",
    "LCP": "liquid-crystal polymer",
    "MABS": "methyl methacrylate-acrylonitrile-butadiene-styrene",
    "MBS": "methacrylate-butadiene-styrene",
    "MF": "melamine-formaldehyde",
    "PA": "polyamide",
    "PAEK": "polyaryletherketone",
    "PAI": "polyamideimide",
    "PAN": "polyacrylonitrile",
    "PAR": "polyarylate",
    "PB": "polybutene",
    "PBT": "poly(butylene terephthalate)",
    "PC": "polycarbonate",
    "PCT": "poly(cyclohexylenedimethylene terephthalate)",
    "PDCPD": "polydicyclopentadiene",
    "PE": "polyethylene",
    "PEEK": "polyetheretherketone",
    "PEI": "polyetherimide",
    "PEN": "poly(ethylene naphthalate)",
    "PESU": "polyethersulfone",
    "PET": "poly(ethylene terephthalate)",
    "PF": "phenol-formaldehyde",
    "PI": "polyimide",
    "PK": "polyketone",
    "PLA": "polylactic acid",
    "PMMA": "poly(methyl methacrylate)",
    "PMMI": "poly-N-methylmethacrylimide",
    "PMP": "poly-4-methylpent-1-ene",
    "POM": "polyoxymethylene",
    "PP": "polypropylene",
    "PPE": "poly(phenylene ether)",
    "PPS": "poly(phenylene sulfide)",
    "PPSU": "poly(phenylene sulfone)",
    "PS": "polystyrene",
    "PSU": "polysulfone",
    "PTFE": "polytetrafluoroethylene",
    "PTT": "poly(trimethylene terephthalate)",
    "PUR": "polyurethane",
    "PVAC": "poly(vinyl acetate)",
    "PVAL": "poly(vinyl alcohol)",
    "PVB": "poly(vinyl butyral)",
    "PVC": "poly(vinyl chloride)",
    "PVDC": "poly(vinylidene chloride)",
    "PVDF": "poly(vinylidene fluoride)",
    "SAN": "styrene-acrylonitrile",
    "SB": "styrene-butadiene",
    "SI": "silicone",
    "SMAH": "styrene-maleic anhydride",
    "SMS": "styrene-alpha-methylstyrene",
    "UF": "urea-formaldehyde",
    "UP": "unsaturated polyester",
    "VE": "vinyl ester",
}

POLYAMIDES: frozenset[str] = frozenset(
    {"6", "11", "12", "46", "66", "69", "610", "612", "1010", "1012", "1212", "4T", "6T", "6I", "9T"}
    | {"10T", "MXD6", "NDT"}
)
"""What may follow PA, alone (PA66) or joined by a stroke in a copolymer (PA6/66)."""

RUBBERS: Mapping[str, str] = {
    "ACM": "acrylate rubber",
    "AEM": "ethylene-acrylate rubber",
    "AU": "polyester urethane rubber",
    "BR": "butadiene rubber",
    "CM": "chlorinated polyethylene rubber",
    "CR": "chloroprene rubber",
    "CSM": "chlorosulfonated polyethylene rubber",
    "ECO": "epichlorohydrin-ethylene oxide rubber",
    "ENR": "epoxidised natural rubber",
    "EPDM": "ethylene-propylene-diene rubber",
    "EPM": "ethylene-propylene rubber",
    "EU": "polyether urethane rubber",
    "FKM": "fluoro rubber",
    "HNBR": "hydrogenated nitrile rubber",
    "IIR": "butyl rubber",
    "IR": "isoprene rubber",
    "NBR": "nitrile rubber",
    "NR": "natural rubber",
    "SBR": "styrene-butadiene rubber",
    "VMQ": "silicone rubber",
}

ELASTOMERS: Mapping[str, str] = {
    "TPA": "polyamide thermoplastic elastomer",
    "TPC": "copolyester thermoplastic elastomer",
    "TPO": "olefinic thermoplastic elastomer",
    "TPS": "styrenic thermoplastic elastomer",
    "TPU": "urethane thermoplastic elastomer",
    "TPV": "thermoplastic rubber vulcanisate",
    "TPZ": "unclassified thermoplastic elastomer",
}


@dataclass(frozen=True)
class Qualifier:
    """Letters after a polymer symbol. `polymers` empty: after any.

    `other_material`: the qualified polymer is another material to whoever works on it (a foam, a
    cross-linked or a plasticised polymer), not only another grade of the same.
    """

    letters: str
    meaning: str
    polymers: tuple[str, ...] = ()
    other_material: bool = False


QUALIFIERS: tuple[Qualifier, ...] = (
    Qualifier("HI", "high impact"),
    Qualifier("E", "expanded or expandable", other_material=True),
    Qualifier("X", "cross-linked or cross-linkable", other_material=True),
    Qualifier("P", "plasticised", other_material=True),
    Qualifier("U", "unplasticised", other_material=True),
    Qualifier("C", "chlorinated", ("PE", "PVC"), other_material=True),
    Qualifier("HD", "high density", ("PE",)),
    Qualifier("MD", "medium density", ("PE",)),
    Qualifier("LD", "low density", ("PE",)),
    Qualifier("LLD", "linear, low density", ("PE",)),
    Qualifier("VLD", "very low density", ("PE",)),
    Qualifier("HMW", "high molecular mass", ("PE",)),
    Qualifier("UHMW", "ultra-high molecular mass", ("PE",)),
    Qualifier("H", "homopolymer", ("PP",)),
    Qualifier("B", "block copolymer", ("PP",)),
    Qualifier("R", "random copolymer", ("PP",)),
    Qualifier("EE", "soft segment with ether and ester linkages", ("TPA", "TPC")),
    Qualifier("ES", "polyester soft segment", ("TPA", "TPC")),
    Qualifier("ET", "polyether soft segment", ("TPA", "TPC")),
    Qualifier("SBS", "block copolymer of styrene and butadiene", ("TPS",)),
    Qualifier("SEBS", "polystyrene-poly(ethylene-butylene)-polystyrene", ("TPS",)),
    Qualifier("SEPS", "polystyrene-poly(ethylene-propylene)-polystyrene", ("TPS",)),
    Qualifier("SIS", "block copolymer of styrene and isoprene", ("TPS",)),
    Qualifier("ARES", "aromatic hard segment, polyester soft segment", ("TPU",)),
    Qualifier("ARET", "aromatic hard segment, polyether soft segment", ("TPU",)),
    Qualifier("ALES", "aliphatic hard segment, polyester soft segment", ("TPU",)),
    Qualifier("ALET", "aliphatic hard segment, polyether soft segment", ("TPU",)),
)

FILLER_MATERIALS: Mapping[str, str] = {
    "A": "aramid",
    "B": "boron",
    "C": "carbon",
    "D": "alumina trihydrate",
    "E": "clay",
    "G": "glass",
    "K": "calcium carbonate",
    "L": "cellulose",
    "M": "mineral",
    "ME": "metal",
    "N": "natural organic material",
    "P": "mica",
    "Q": "silica",
    "S": "synthetic organic material",
    "T": "talc",
    "W": "wood",
    "X": "unspecified material",
    "Z": "other material",
}

FILLER_FORMS: Mapping[str, str] = {
    "B": "beads",
    "C": "chips",
    "CM": "chopped-strand mat",
    "D": "powder",
    "F": "fibre",
    "G": "ground",
    "H": "whiskers",
    "K": "knitted fabric",
    "L": "layer",
    "M": "mat",
    "N": "non-woven fabric",
    "P": "paper",
    "R": "roving",
    "S": "flakes",
    "V": "veneer",
    "W": "woven fabric",
    "X": "unspecified form",
    "Y": "yarn",
}

METALS: frozenset[str] = frozenset(
    {"Ag", "Al", "Au", "Bi", "Co", "Cr", "Cu", "Fe", "Mg", "Mn", "Mo", "Nb", "Nd", "Ni", "Pb", "Pd"}
    | {"Pt", "Sm", "Sn", "Sr", "Ta", "Ti", "V", "W", "Zn", "Zr"}
)
"""The chemical symbols that may follow ME: metals used as powder, flake, fibre or whisker."""

FLAME_RETARDANT_GROUPS: Mapping[int, str] = {
    1: "halogenated compounds",
    2: "halogenated compounds",
    3: "nitrogen compounds",
    4: "organic phosphorus compounds",
    5: "inorganic phosphorus compounds",
    6: "metal oxides, hydroxides and salts",
    7: "boron, zinc and silicon compounds",
    8: "graphite",
}
"""By the tens digit of the two-digit code number."""


def polymer_name(symbol: str) -> str | None:
    """What a polymer symbol stands for; None when it is not in the tables."""
    for table in (POLYMERS, RUBBERS, ELASTOMERS):
        if symbol in table:
            return table[symbol]
    if symbol.startswith("PA") and set(symbol[2:].split("/")) <= POLYAMIDES:
        return f"polyamide {symbol[2:]}"
    return None


def qualifier_of(letters: str, symbol: str) -> Qualifier | None:
    """The qualifier that `letters` are after polymer `symbol`, or None."""
    for qualifier in QUALIFIERS:
        if qualifier.letters == letters and (not qualifier.polymers or symbol in qualifier.polymers):
            return qualifier
    return None


def flame_retardant_name(code: int) -> str:
    """The group of compounds a flame-retardant code number belongs to."""
    return FLAME_RETARDANT_GROUPS.get(code // 10, "an unlisted group")
