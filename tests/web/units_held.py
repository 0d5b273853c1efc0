"""What a page shows in units of the other system than the one that was chosen."""

from __future__ import annotations

import re

from tests.web.opened_pages import Page

OTHER = {
    "si": re.compile(
        r"\d\s?in(?=$|[.,;:)])|\d\s?(?:ft|psi[ag]?|°F|acre-ft|acres?|sq in|gal|mph|scfm|cfm|lb|yd|mi)(?![\w])"
        r"|\b(?:one|a|by|per) (?:foot|inch|pound|gallon|acre|mile)\b(?! of the)"
        r"|\b(?:feet|inches|pounds|gallons|miles)\b|^(?:ft|psi[ag]?|°F|scfm|cfm|lb|gal)$"
    ),
    "us": re.compile(
        r"\d\s?(?:m|cm|mm|km|kPa|bar|°C|m²|m³|ha|L|kg|m/s|m³/h|Nm³/h)(?![\w/])"
        r"|\b(?:one|a|by|per) (?:metre|litre|hectare|kilogram)\b|\b(?:metres|litres|hectares)\b"
        r"|^(?:m|cm|mm|kPa|°C|m³/h|kg|L)$"
    ),
}  # fmt: skip
"""Numbers with a unit of the other system, its words, and heads of columns."""

NAMES = (
    (r"\b(?:\d-)?\d/\d in\b", "the nominal size of a pipe or thread, a name"),
    (r"Metres or feet east and north|\((?:psig, kPa, bar|ft, in, m)\)", "which units may be typed"),
)  # fmt: skip


class Whole(Page):
    """The texts of a page outside of forms and of what was typed, those of links and pictures among them."""

    def handle_data(self, data):
        if "main" not in self.stack or set(self.stack) & {"inputs", "h1", "form", "script"}:
            return
        if data.strip():
            self.loose.append(" ".join(data.split()))


def in_other_units(text, units):
    """Return the texts of a page that hold a unit of the other system."""
    found = []
    for line in Whole(text).loose:
        for pattern, _reason in NAMES:
            line = re.sub(pattern, " ", line)
        if OTHER[units].search(line):
            found.append(line)
    return found
