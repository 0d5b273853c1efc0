"""What is asked of a pond beside the ten answers: facts of its site, fish and power, as questions in groups."""

from __future__ import annotations

from plumeline.files.new_answers import ANSWERS, Answer

YES_NO = (("yes", "yes"), ("no", "no"), ("unknown", "not known"))
OUTLETS = (
    ("none", "it has no outlet"), ("spillway", "over a spillway"), ("surface", "by a pipe at the surface"),
    ("bottom", "by a pipe at the bottom"), ("gate", "by a gate"), ("unknown", "not known"),
)  # fmt: skip
STAGES = (("adult", "grown fish alone"), ("early", "nests, eggs, fry or young too"))


def _fact(name: str, label: str, hint: str = "", choices: tuple[tuple[str, str], ...] = YES_NO) -> Answer:
    return Answer(name, f"site.facts.{name}", label, hint, choices)


def _fish(name: str, label: str, hint: str, choices: tuple[tuple[str, str], ...] = YES_NO) -> Answer:
    return Answer(name, f"fish.{name}", label, hint, choices)


def _power(name: str, label: str, hint: str, choices: tuple[tuple[str, str], ...] = ()) -> Answer:
    return Answer(name, f"power.{name}", label, hint, choices)


def _pond(name: str, label: str, hint: str, *, is_long: bool = False) -> Answer:
    return Answer(name, f"pond.{name}", label, hint, is_long=is_long)


def _trench(
    name: str, label: str, hint: str, choices: tuple[tuple[str, str], ...] = (), key: str = ""
) -> Answer:
    return Answer(name, f"trench.{key or name}", label, hint, choices)


GROUPS: tuple[tuple[str, tuple[Answer, ...]], ...] = (
    (
        "The ground, and who has a say",
        (
            _fact("utility_located", "Is a utility-locate ticket in force for the trench?"),
            _fact("utility_ticket", "Number of that ticket", "as the public call gave it", ()),
            _fact(
                "private_lines",
                "Are there private lines in the ground?",
                "The owner's own water, power, gas or irrigation, which the public call does not mark.",
            ),
            _fact("earthen_dam", "Is the dam of earth?"),
            _fact("permits_in_hand", "Are the permits in hand?"),
            _fact("shore_owner", "Who owns the shore", "Where shore and bed have two owners, both must agree.", ()),
            _fact("bed_owner", "Who owns the bed", "The ground under the water.", ()),
        ),
    ),
    (
        "The trench",
        (
            _trench(
                "locate_ticket",
                "Ticket of the public call for it, where it is another than the one above",
                "Left empty, the number above counts. Without a number no day stands on paper for the trench.",
            ),
            _trench(
                "ticket_expires",
                "Day on which the ticket ends (year-month-day)",
                "2026-08-25. A dig after it is given no date: call again.",
            ),
            _trench(
                "dig_date",
                "Day of the dig (year-month-day)",
                "2026-08-20. It stands on the plan with the ticket's number and end alone.",
            ),
            _trench(
                "private_lines_located",
                "Has a private locator marked the lines on the property?",
                "The public call marks only the utilities' own; until these are marked the plan warns of them.",
                YES_NO,
            ),
            _trench(
                "frost_depth",
                "How deep does the ground freeze there (ft, in, m)?",
                "18 in; the building department knows it. Water in a dip above it freezes and shuts the line.",
            ),
            _trench(
                "trench_width", "How wide is the trench (in, ft, m)?", "Left empty, 6 in: the soil to be moved.",
                key="width",
            ),
            _trench(
                "water_elevation",
                "How high stands the water, on the levels of the surveyed course (ft, m)?",
                "672.4 ft. Left empty, the ground at the course's last station is taken; rise and crest hang on it.",
            ),
        ),
    ),
    (
        "The shore under water",
        (
            _pond(
                "bank_slope",
                "How steep are the banks under water?",
                "3:1, or 1 ft in 3 ft, or 33 %. Left empty, a usual slope is taken and the volume is less sure.",
            ),
            _pond(
                "shore_depth",
                "How deep is it right at the shore (ft, in, m)?",
                "0 ft for a beach, 3 ft at a wall all round. A wall along a part of it is told below.",
            ),
            _pond(
                "walls",
                "Walls or cut banks along a part of the shore",
                "One a line: its start; its end; the depth at its foot (corner 3; corner 7; 3 ft). A place is a corner "
                "of the shore, latitude, longitude, or how far east and north of its middle (120 ft, -40 ft); the wall "
                "takes the shorter way between them. Beside it no bank is counted: the volume grows, and is surer.",
                is_long=True,
            ),
        ),
    ),
    (
        "Water that leaves",
        (
            _fact("outlet", "How does water leave the pond?", "", OUTLETS),
            _fact("outflow_now", "Does water leave it these days?"),
            _fact("tell_downstream", "Whom to tell before the first start", "Those downstream, by name or place.", ()),
        ),
    ),
    (
        "Water that is drawn",
        (
            _fact("well_near", "Is there a well near?"),
            _fact("potable_intake", "Does anybody drink from the pond?"),
            _fact("livestock_intake", "Is livestock watered from it?"),
            _fact("irrigation_intake", "Is it drawn on for irrigation?"),
        ),
    ),
    (
        "Who comes to the water, and what lives in it",
        (
            _fact("swimmers", "Does anybody swim in it?"),
            _fact("animals", "Do dogs or livestock come to it?"),
            _fact("spawning_beds", "Are eggs or fry on spawning beds now?"),
            _fact("protected_species", "Does a protected species live there?"),
            _fish(
                "stage",
                "What fish are in it?",
                "Young fish need more oxygen; where nobody knows, take them in.",
                STAGES,
            ),
            _fish(
                "heavy_stock",
                "Are there more fish in it than usual: fed, or stocked over what it grows by itself?",
                "More fish need more usable water left to them; not known: the usual is counted, and the plan says so.",
            ),
            _fish(
                "gasping_at_dawn",
                "Did fish gasp at the surface at sunrise, lately?",
                "Ponds in which they would have gasped, or not, count less in the risk of the start-up.",
            ),
            _fish(
                "kill_this_season",
                "Did fish die in it this season?",
                "Ponds in which they would have died, or not, count less in the risk of the start-up.",
            ),
        ),
    ),
    (
        "What is done to the water",
        (
            _fact("other_pumps", "Do other pumps, fountains or air run in it?"),
            _fact("herbicide", "Was herbicide or algaecide used in the last weeks?"),
            _fact("herbicide_date", "Day of that treatment (year-month-day)", "2026-08-01", ()),
            _fact(
                "herbicide_reason",
                "Why a start within 14 days of it is right all the same",
                "It stands on the plan; left empty, no plan is made.",
                (),
            ),
        ),
    ),
    (
        "Power at the compressor",
        (
            Answer(
                "compressor_place",
                "power.place",
                "Place of the compressor",
                "35.9101, -79.7203, or how far east and north of the shore's middle (120 ft, -40 ft). While the "
                "manifold's place is open it is put where trench and lines are least in all; the length of the trench "
                "is held against it.",
            ),
            _power(
                "gfci",
                "Has the outlet ground-fault protection (GFCI)?",
                "Without it nobody may go near the water; not known: have it tested before the start.",
                YES_NO,
            ),
            _power(
                "trip_alarm",
                "Is somebody told when the air stops?",
                "A tripped outlet kills fish in warm nights: without an alarm the gauge is looked at every day.",
                YES_NO,
            ),
            _power("high_water", "Highest usual water, over today's (ft, in, m)", "2 ft, by the flood mark"),
            _power("feeder_length", "Wire from the panel to the outlet, one way (ft or m)", "45 ft"),
            _power("feeder_gauge", "Gauge of that wire, where it is there already (AWG, copper)", "12"),
        ),
    ),
)  # fmt: skip
"""Groups of questions with their titles; what is chosen from has "not known" as a choice of its own."""

QUESTIONS = (*ANSWERS, *(one for _, group in GROUPS for one in group))
"""Every question about a pond that is there: the ten answers first."""


def unanswered(question: Answer) -> str:
    """Return what stands for no answer: nothing typed, "unknown", or of the fish's stage what job.toml takes."""
    if not question.choices:
        return ""
    return "unknown" if ("unknown", "not known") in question.choices else question.choices[0][0]
