"""Texts on the paper that are the same for every pond."""

from __future__ import annotations

from collections.abc import Sequence

NOT_ON_PAPER = ("Who:", "Why so high", "How sure:")
HOLD_RULE = (
    "Shut off at once, and call, when fish gasp at the surface or the air over the pond smells of rotten "
    "eggs. Do not "
    "catch up on a missed day: take up the card where it was left. After some days without air the pond "
    "layers "
    "again: start the card from day 1."
)
FIRM = (
    "Firm for the first two days, provisional after (days in brackets): oxygen forecasts beat “tomorrow as "
    "today” for about two days. "
    "Work the plan out again with each new reading."
)
NO_PROMISE = (
    "These are counts among simulated ponds, drawn to agree with the readings. They are no guarantee: a "
    "real pond "
    "can do what none of them did."
)
DESIGN_AID = (
    "A design aid, not a permit and not a stamped design. The licensed electrician, the codes of the place "
    "and those "
    "who enforce them decide."
)
WORKINGS = (
    "How each number came about (inputs, equation, source) is not printed here: on the pond's pages in the program "
    "each number opens to it, and “How all its numbers come about” prints those of a page, at the address "
)


OF_THE_RUN = "Those of the start-up are kept with its plan, on the page of the start-up."


def workings_at(job_id: str, *stages: str) -> str:
    """Return where the workings of a paper's numbers are found: a paper of them all would be a book."""
    pages = ", ".join(f"/ponds/{job_id}/workings/{stage}" for stage in stages)
    return f"{WORKINGS}{pages}."


SOURCES: tuple[str, ...] = (
    "Plume: Wüest, Brooks & Imboden 1992, Water Resour. Res. 28:3235; McGinnis et al. 2004, Water Resour. "
    "Res. "
    "40:W10206; Morton, Taylor & Turner 1956, Proc. R. Soc. A 234:1.",
    "Oxygen in water: Benson & Krause 1980, 1984, Limnol. Oceanogr. 25:662, 29:620 (USGS 2011.03). "
    "Transfer in "
    "clean water: ASCE/EWRI 2-06.",
    "Density: Chen & Millero 1986, Limnol. Oceanogr. 31:657. Layers: Read et al. 2011, Environ. Model. "
    "Softw. 26:1325; "
    "Idso 1973, Limnol. Oceanogr. 18:681.",
    "Ammonia: Emerson et al. 1975, J. Fish. Res. Board Can. 32:2379; U.S. EPA 2013, 822-R-13-001. "
    "Sulphide: Millero "
    "et al. 1988, Limnol. Oceanogr. 33:269.",
    "Heat and light: Hipsey et al. 2019, Geosci. Model Dev. 12:473; Markfort et al. 2010, Water Resour. Res. "
    "46:W03530; Hondzo & Stefan 1993, J. Hydraul. Eng. 119:1251; Jassby & Platt 1976, Limnol. Oceanogr. "
    "21:540.",
    "Gas exchange: Cole & Caraco 1998, Limnol. Oceanogr. 43:647; Crusius & Wanninkhof 2003, Limnol. "
    "Oceanogr. 48:1010.",
    "Air line: Churchill 1977, Chem. Eng. 84(24):91; Crane TP-410. Plastic pipe: ASTM D1785, D2239, D3035; "
    "OSHA Hazard "
    "Information Bulletin, 13 Dec 1990.",
    "Hot day, noise, power: ASHRAE Fundamentals 2021; ISO 9613-2:1996; WHO, Community Noise 1999; NFPA 70 "
    "(NEC) 2023, read in secondary sources.",
    "Bound of a risk: Clopper & Pearson 1934, Biometrika 26:404. Doubling of the running time: common "
    "practice, no "
    "published source.",
)


def on_paper(stop_words: Sequence[str]) -> list[str]:
    """Return the stop rule as the card has room for it: without who keeps it, why it stands so high, how sure it is."""
    return [line for line in stop_words if not line.startswith(NOT_ON_PAPER)]
