"""What the sentences of a start-up plan may show: notices, lists, charts, what is taken for granted."""

from __future__ import annotations

from collections.abc import Iterable

from plumeline.pairs import said
from plumeline.units.showing import System
from plumeline.workings.book import Book
from plumeline.workings.startup import WATER, StartValues, values_said
from plumeline.workings.startup_tables import FIGURES, NARROW, SAVES, near_surface
from plumeline.workings.value import Kind, Value, chosen, plain_constant

METER = "judgement: docs/startup.md"
BLOOMS = "docs/blooms.md: a dye in the simulated column, for the rise speeds of the table of priors"
STOP_TITLE = "How the stop rule is carried out"

FRESH_COUNT = "counted over the fresh ponds"
STIRRING = "draws in which stirring beats the rise"

NOTICES: dict[str, tuple[str, Kind, str, str]] = {
    "second-try": (
        "first choice on the fresh ponds", Kind.SIMULATED,
        "the schedule that the search chose, scored on the same fresh ponds: its steps, what it lost, and the upper "
        "bound of its riskiest day; of two bounds of 95 % both hold in 90 % at least (Bonferroni)", WATER,
    ),
    "noon-only": ("depth of a reading", Kind.CHOSEN, "near the surface, under the film that the sun warms", METER),
    "weather-short": (
        "hours and days of weather", Kind.GIVEN, "counted in weather.csv against the hours simulated", "",
    ),
    "sulphide-binds": (
        "ponds whose refuge went by hydrogen sulphide", Kind.SIMULATED, "counted over the ponds lost", WATER,
    ),
    "ammonia-binds": (
        "ponds whose refuge went by ammonia", Kind.SIMULATED,
        "counted over the ponds lost", WATER,
    ),
    "gas-pressure": (
        "gas pressure of the water with the air on day and night", Kind.CHOSEN,
        "the balance of what the bubbles give and the surface lets go: docs/plume.md",
        "Wüest, Brooks & Imboden 1992, Water Resour. Res. 28:3235; U.S. EPA 1986, EPA 440/5-86-001",
    ),
    "salt-layered": (
        "salt's part of the difference in weight", Kind.CHOSEN,
        "growth of density from top to bottom less what warmth makes of it, over the whole: the page of the reading",
        "Chen & Millero 1986, Limnol. Oceanogr. 31:657; Kell 1975, J. Chem. Eng. Data 20:97",
    ),
    "not-complete": ("part that completes", Kind.SIMULATED, FRESH_COUNT, WATER),
    "risk-not-stated": (
        "what the readings leave", Kind.SIMULATED,
        "1 over the sum of the squared weights (Kish 1965)", WATER,
    ),
    "stop-capped": (
        "stop reading of the cautious rule", Kind.CHOSEN,
        "the fish's limit and 2 mg/L, and what the middle pond's water dissolves at its temperature, salt and air "
        "pressure, rounded down to the tenth of a meter", "Benson & Krause 1984, Limnol. Oceanogr. 29:620",
    ),
    "hold-until-reading": (
        "at once and after the pause", Kind.SIMULATED,
        FRESH_COUNT, WATER,
    ),
    "owner-decides": ("this plan and no air", Kind.SIMULATED, FRESH_COUNT, WATER),
    "worse-than-no-air": ("this plan and no air", Kind.SIMULATED, FRESH_COUNT, WATER),
    "every-plume-turns-back": (
        "what would break through", Kind.SIMULATED,
        "the least of those tried at which half of the plume's draws surface",
        "Wüest, Brooks & Imboden 1992, Water Resour. Res. 28:3235",
    ),
    "refuge-doubled": (
        "boils and refuge", Kind.CHOSEN,
        "area of the boils (radius half the depth) over the pond's, and twice the usual part of the volume: judgement",
        "",
    ),
    "stock-unknown": (
        "parts of the water that must stay usable", Kind.CHOSEN,
        "of a usual stock and of a heavy one: judgement, docs/startup.md", "",
    ),
    "blooms-often-not-enough": ("odds against blue-greens", Kind.SIMULATED, STIRRING, BLOOMS),
    "blooms-in-part": (
        "odds against blue-greens", Kind.SIMULATED,
        f"{STIRRING}; hours of air that are tried", BLOOMS,
    ),
}  # fmt: skip
"""What the numbers of a notice are: name, kind, words, source."""

HUNDRED = plain_constant("of so many", 100.0, "", "odds are told in hundredths")
BOUNDS = (
    plain_constant("confidence of one upper bound", 0.95, "fraction", "Clopper & Pearson 1934, one side"),
    plain_constant("confidence of two bounds together", 0.90, "fraction", "1 − 2 × 5 %: Bonferroni"),
)
RULE = "the cautious rule: judgement, docs/startup.md"
GATE = "common practice, no published source"
CONSTANTS: dict[str, tuple[Value, ...]] = {
    "second-try": BOUNDS,
    "hold-until-reading": (plain_constant("oxygen at dawn from which the custom goes on", 4.0, "mg_l", GATE),),
    "risk-not-stated": (
        plain_constant("first run of the cautious rule", 15.0, "min", RULE),
        plain_constant("dawn oxygen under which it is held", 4.0, "mg_l", GATE),
        plain_constant("oxygen over the fish's limit at which it stops", 2.0, "mg_l", RULE),
    ),
    "ammonia-binds": (
        plain_constant("pH over which the next step is held", 9.0, "", "a third of warm water's ammonia is un-ionised "
                       "there: Emerson et al. 1975 at 25 °C"),
    ),
    "blooms-often-not-enough": (HUNDRED,),
    "blooms-in-part": (HUNDRED,),
}  # fmt: skip
"""Numbers of a notice that are the same for every pond, before those that its own kind explains."""

TAKEN: dict[str, tuple[str, str]] = {
    "The card is carried out": ("errors of a meter, hours of reading", METER),
    "Outage": ("days of the outage", "asked for, with four days of air before it: docs/startup.md"),
    "Assumed": ("what is assumed of the days before the reading", "docs/column.md"),
}
"""What the numbers of a sentence that is taken for granted are, by its beginning."""


def notices(book: Book, values: StartValues, units: System) -> None:
    """Say what the notices of the start-up may show."""
    risk = values.plan_risk
    known = [*values.by_cause, risk.lost, risk.still, risk.members, near_surface(), values.oxygen_limit]
    for notice in values.plan.notices:
        if notice.code not in NOTICES:
            continue
        name, kind, words, source = NOTICES[notice.code]
        text = said(notice.text, units)
        constants = CONSTANTS.get(notice.code, ())
        book.at(
            "notice", notice.code, values=[*known, *constants, *values_said(text, name, kind, words, source)]
        )


def limits(values: StartValues, fish: Iterable[Value]) -> list[Value]:
    """Return what the words on the refuge may show."""
    words = "judgement, docs/startup.md; more for a heavy stock, twice as much where boils cover the pond or it is tiny"
    found = values_said(
        said(values.start.limits_words, "si"), "body of water that is a refuge", Kind.CHOSEN, words
    )
    # the limits themselves are the reading's; what is left are part and thickness
    return [*fish, *found[-2:]]


def lists(book: Book, values: StartValues, fish: list[Value], units: System) -> None:
    """Say what the lists of sentences may show."""
    start = values.start
    two = plain_constant("depths away from the boils", 2.0, "", "boils spread half a depth: judgement")
    rules = [
        near_surface(), *fish, two,
        plain_constant("drop that counts", 0.5, "mg_l", "what a meter may be off by in a day: judgement"),
        plain_constant("ponds that must keep their refuge", 95.0, "", "one in twenty is left out"),
        plain_constant("of so many", 100.0, "", "one in twenty is left out"),
        *values_said(" ".join(said(text, units) for text in start.stop_words), "numbers of the stop rule", Kind.CHOSEN,
                     "hours from job.toml, attendance; two depths of the deepest diffuser to a whole metre, so that "
                     "the meter stands off the boils; mixed is 1 K between top and bottom: docs/startup.md"),
    ]  # fmt: skip
    book.at("part", STOP_TITLE, values=rules)
    lists = (
        ("First of all: without air this pond is already failing", start.emergency,
         "extension practice for low oxygen; numbers of a crew's hours and of the depth of the reading"),
        ("What changed since the last plan", start.changes,
         "the plan of the readings before, made again beside this one"),
    )  # fmt: skip
    for title, texts, words in lists:
        text = " ".join(said(one, units) for one in texts)
        book.at(
            "part",
            title,
            values=values_said(text, title, Kind.SIMULATED if texts is start.changes else Kind.CHOSEN, words),
        )


def sentences(book: Book, values: StartValues, fish: list[Value], units: System) -> None:
    """Say what the sentences under the charts, and what is taken for granted, may show."""
    start, risk = values.start, values.plan_risk
    worst = min(start.days, key=lambda day: day.dawn_do_mg_l.median, default=None)
    if worst is not None:
        words = "oxygen at the depth of the reading at the dawn that follows"
        name = f"oxygen at the dawn after day {worst.number}"
        dawn = values.band(name, worst.dawn_do_mg_l, "mg_l", words)
        # "8.6 in nine of ten" is no length: the number alone
        bare = values.band(name, worst.dawn_do_mg_l, "", f"{words}, in mg/L")
        day = chosen("day of the lowest dawn", float(worst.number), "", "counted from the first run")
        book.at("sentence", "Oxygen", values=[near_surface(), day, risk.members, *dawn, *bare, *fish])
    book.at("sentence", "Of ", values=[risk.members, risk.lost, risk.still])
    book.at("sentence", "Points are the reading", values=_profile(values))
    drawn = chosen("simulated ponds drawn", float(start.drawn_members), "",
                   "drawn from the priors until enough were found that agree with the readings")  # fmt: skip
    days = chosen("days simulated", float(start.horizon_d), "d", values.horizon.words)
    book.at("sentence", f"{start.drawn_members} simulated ponds", values=[drawn, days])
    book.at("sentence", "The pond is one column", values=limits(values, fish))
    for text in start.assumptions:
        for beginning, (name, words) in TAKEN.items():
            if text.startswith(beginning):
                found = values_said(said(text, units), name, Kind.CHOSEN, words)
                book.at("sentence", said(text, units)[:60], values=found)


def readings_to_take(book: Book, values: StartValues, units: System) -> None:
    """Say what the words on readings not yet taken may show."""
    words = "near the surface, where the foul water begins in the middle pond, or at the deepest diffuser"
    for row, item in enumerate(values.start.readings_value):
        found = values_said(said(item.how, units), "how to take the reading", Kind.CHOSEN, words)
        book.at("part", SAVES, str(row), "6", values=found)


def narrowing_words(book: Book, values: StartValues) -> None:
    """Say what the words on inputs that are missing may show."""
    words = "a bottle is read after a quarter of an hour and after a day: docs/startup.md"
    for row, item in enumerate(values.start.narrowing):
        found = values_said(item.how, "how to take the reading", Kind.CHOSEN, words)
        book.at("part", NARROW, str(row), "1", values=found)
        if row == 0:
            book.at("part", FIGURES, "would narrow it most", values=found)


def _profile(values: StartValues) -> list[Value]:
    """Return the water at the end of the plan, at the top and at the deepest diffuser."""
    last = values.start.profiles[-1]
    deepest = max(values.plan.layout.diffusers, key=lambda item: item.depth_m)
    low = min(range(len(last.depth_m)), key=lambda n: abs(last.depth_m[n] - deepest.depth_m))
    at = f"{last.hours_after_reading_h / 24:.1f} days after the reading: the median of the ponds"
    found = [
        chosen("depth of the deepest diffuser", deepest.depth_m, "m", "see the layout"),
        chosen(
            "days after the reading",
            last.hours_after_reading_h / 24.0,
            "",
            "the last profile that the chart shows",
        ),
    ]
    for name, n in (("top", 0), ("deepest diffuser", low)):
        found.append(values.of_ponds(f"temperature at the {name}", last.temperature_degc[0][n], "degc", at))
        found.append(values.of_ponds(f"oxygen at the {name}", last.do_mg_l[0][n], "mg_l", at))
    return found
