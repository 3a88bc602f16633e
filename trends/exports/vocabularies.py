"""Addresses of published vocabularies for what is measured and in which unit.

Quantities and most units are those of the NERC Vocabulary Server, collections P01 and P06; the two units it was
not found in are those of QUDT. The codes were read in public data sets and code that use them, not on the servers
themselves. Where none is known to fit, the cell stays empty: the words beside it always say what is meant.
"""

from typing import Final

_P01 = "http://vocab.nerc.ac.uk/collection/P01/current/"
_P06 = "http://vocab.nerc.ac.uk/collection/P06/current/"
_QUDT = "http://qudt.org/vocab/unit/"

TYPES: Final = {
    "water temperature": f"{_P01}TEMPPR01/",
    "air temperature": f"{_P01}CDTAZZ01/",
    # Conductivity worked out for 25 degrees C is another quantity and has no code here.
    "electrical conductivity": f"{_P01}CNDCZZ01/",
    "dissolved oxygen": f"{_P01}DOXYZZXX/",
    "pH": f"{_P01}PHXXZZXX/",
    "turbidity": f"{_P01}TURBXXXX/",
}
UNITS: Final = {
    "degree_Celsius": f"{_P06}UPAA/",
    "mg L-1": f"{_P06}UMGL/",
    "NTU": f"{_P06}USTU/",
    "g": f"{_P06}UGRM/",
    "m": f"{_P06}ULAA/",
    "s": f"{_P06}UTBB/",
    "1": f"{_P06}UUUU/",
    "individuals": f"{_P06}UUUU/",
    "uS cm-1": f"{_QUDT}MicroS-PER-CentiM",
    "m3 s-1": f"{_QUDT}M3-PER-SEC",
}
