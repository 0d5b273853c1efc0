"""The edge of the program: texts with the trade's units become SI numbers, and numbers become texts.

Inside, every number is SI and its name ends in its unit (``depth_m``); that ending is the *suffix* which
every function here takes. A closed table of spellings decides what is understood; all else is an error.

The rule for commas: ``2,5 m`` is 2.5 m and ``1,200.5 ft`` is 1200.5 ft, for each can be read in one way only.
``1,200 ft`` can be read in two ways (1200 and 1.2) and is refused. What is shown has its thousands parted by a
narrow no-break space from 10,000 on, and reads back as that one number.
"""

from plumeline.units.air import AirFlow, parse_air, show_air
from plumeline.units.reading import (
    as_number,
    column_factor,
    convert,
    not_negative,
    parse,
    positive,
    split_header,
    typed_suffix,
)
from plumeline.units.showing import apart, both, echo, far_away, half_band, plain, show
from plumeline.units.table import SUFFIXES, UNITS, Unit

__all__ = [
    "SUFFIXES",
    "UNITS",
    "AirFlow",
    "Unit",
    "apart",
    "as_number",
    "both",
    "column_factor",
    "convert",
    "echo",
    "far_away",
    "half_band",
    "not_negative",
    "parse",
    "parse_air",
    "plain",
    "positive",
    "show",
    "show_air",
    "split_header",
    "typed_suffix",
]
