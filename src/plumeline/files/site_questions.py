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


def _pond(name: str, label: str, hint: str) -> Answer:
    return Answer(name, f"pond.{name}", label, hint)


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
                "0 ft for a beach, 3 ft at a wall all round. A wall along a part of it is told in job.toml.",
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
