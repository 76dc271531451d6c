"""Markings moulded into plastic parts, after ISO 11469 and ISO 1043-1 to -4: `>PP+EPDM-T20<`.

    marking   = ">" compound { "," compound } "<"
    compound  = polymer { "+" polymer } { "-" ( fillers | "FR(" code { "+" code } ")" ) }
    polymer   = symbol [ "-" qualifier [ "(" plasticiser ")" ] ] [ "-(" symbol { "+" symbol } ")" ]
                [ "(REC" [ percent ] ")" ]
    fillers   = filler [ percent ] | "(" filler [ percent ] { "+" filler [ percent ] } ")" [ percent ]
    filler    = material [ form ] [ "(" chemical element ")" ]

The symbols themselves stand in `symbols`, each table beside its source.
"""

from __future__ import annotations

from rules.materials.markings.cursor import MarkingError
from rules.materials.markings.parser import parse_compound, parse_marking
from rules.materials.markings.structure import Compound, Filler, Marking, Polymer, Recyclate

__all__ = [
    "Compound",
    "Filler",
    "Marking",
    "MarkingError",
    "Polymer",
    "Recyclate",
    "parse_compound",
    "parse_marking",
]
