"""How the numbers of a start-up plan come about: counts and bands of simulated ponds, bounds, limits, choices."""

from __future__ import annotations

import re
from functools import cached_property

from plumeline.stages.plan import Plan
from plumeline.stages.startup import Band, ChosenAs, Risk, RunDay
from plumeline.stages.startup.known import LONGEST_HORIZON_D
from plumeline.stages.startup.rollout import HOLD_HOURS
from plumeline.stages.startup.search import FEW_MEMBERS, MANY_MEMBERS, SOME_MEMBERS
from plumeline.stages.startup.stage import FRESH_SEED_STEP
from plumeline.units import plain
from plumeline.workings.files import Files
from plumeline.workings.quantities import read_quantities
from plumeline.workings.value import (
    Kind,
    Value,
    balance,
    chosen,
    counted,
    plain_constant,
    relation,
    simulated,
    summed,
)

WATER = (
    "docs/column.md: heat, mixing, oxygen, debts, sulphide and light in layers, each relation with its source; "
    "docs/startup.md: members, refuge, promise"
)
BOUND = "Clopper & Pearson 1934, Biometrika 26:404"
LOST = (
    "a pond counts as lost where for more than an hour no body of water keeps every limit of the fish, from the first "
    f"run to {HOLD_HOURS / 24:g} days after the pond is mixed through"
)


CITED = re.compile(r"\b(?:and others|et al\.) (\d{4})\b")
"""The year of a publication that is named in a sentence."""


def values_said(text: str, name: str, kind: Kind, words: str, source: str = "") -> list[Value]:
    """Return a value for each number of a text, as it stands there; the year of a publication is none.

    Args:
        text: in one system of units.
        name: what they are.
        kind: how they came about; none that has a line.
        words: where they are from.
        source: who says so.
    """
    years = {match.start(1) for match in CITED.finditer(text)}
    return [
        Value(name, one.number, one.unit.label, kind, words, source=source)
        for one in read_quantities(text)
        if one.start not in years
    ]


SECOND = (
    ", though the first choice was scored on the same ponds before this one: of two tries, so two bounds of 95 % both "
    "hold in 90 % at least"
)
EFFORT = "the one with fewest visits, then fewest days"
CHOICES = {
    ChosenAs.LEAST_EFFORT: f"of those that keep what is accepted on the ponds of the search, {EFFORT}",
    ChosenAs.SECOND_TRY: (
        f"of those that keep what is accepted on the ponds of the search, {EFFORT}, was the first choice, and just "
        "missed the promise on the fresh ponds; this is it with its riskiest day taken in two steps, which was itself "
        "not searched for"
    ),
    ChosenAs.FEWEST_LOST: (
        f"none keeps what is accepted on the ponds of the search; of those no worse than the safest, {EFFORT}"
    ),
    ChosenAs.CAUTIOUS_RULE: (
        "the cautious rule, doubling from 15 min or from the last run (common practice, no published source), for the "
        "readings leave too few ponds apart to state a risk; no schedule of the search is used"
    ),
}
"""How the plan's schedule came to be chosen, in words."""


def compared_ponds(members: int) -> str:
    """Return on which ponds the other schedules are scored."""
    return f"the first {plain(members, 0)} of the fresh simulated ponds"


class StartValues:
    """The values of a start-up plan, each made once.

    Attributes:
        plan: every stage of the job.
        files: the job.
        oxygen_limit: least oxygen for the fish, as the reading's page works it out.
        fresh: of which ponds the plan is scored, in words.
        searched: of which ponds readings, waiting and what follows are asked, in words.
        tried_on: on how many of those the schedules were tried, in words.
    """

    def __init__(self, plan: Plan, files: Files, oxygen_limit: Value) -> None:
        self.plan, self.start, self.files = plan, plan.startup, files
        self.oxygen_limit = oxygen_limit
        self._risks: dict[str, RiskValues] = {}
        self._counts: dict[int, Value] = {}
        seed = files.job.seed
        again = f"`plumeline startup` with --seed {seed} gives the same again"
        self.fresh = (
            f"{plain(self.start.risk.members, 0)} fresh simulated ponds, drawn with seed "
            f"{seed + FRESH_SEED_STEP} and not "
            f"searched on{SECOND if self.start.chosen_as is ChosenAs.SECOND_TRY else ''}; {again}"
        )
        self.searched = f"simulated ponds of the search, drawn with seed {seed}; {again}"
        few, some, many, every = (
            min(count, self.start.search_members)
            for count in (FEW_MEMBERS, SOME_MEMBERS, MANY_MEMBERS, self.start.search_members)
        )
        self.tried_on = (
            f"{plain(few, 0)} {self.searched}; the best quarter of them on {plain(some, 0)}, the last few on "
            f"{plain(many, 0)}, and one that "
            f"comes close to what is accepted on all {plain(every, 0)}"
        )

    def of_ponds(self, name: str, number: float, suffix: str, words: str, ponds: str = "") -> Value:
        """Return a number that was counted or taken over simulated ponds."""
        return simulated(name, number, suffix, f"{words}, over {ponds or self.fresh}", source=WATER)

    def band(self, name: str, band: Band, suffix: str, words: str, scale_number: float = 1.0) -> list[Value]:
        """Return median, 5 % and 95 % of the fresh ponds, in this order."""
        ends = (
            ("middle pond", band.median, "the median"),
            ("1 in 20 ponds below", band.p05, "the 5 % point of the ponds in order"),
            ("1 in 20 ponds above", band.p95, "the 95 % point of the ponds in order"),
        )
        return [
            self.of_ponds(f"{name}, {end}", scale_number * number, suffix, f"{words}: {rule}")
            for end, number, rule in ends
        ]

    @cached_property
    def members(self) -> Value:
        """How many ponds the plan is scored on."""
        return self.pond_count(self.start.risk.members)

    def pond_count(self, members: int) -> Value:
        """Return how many ponds were judged."""
        words = "as many as the program asks for this: more ponds, a closer bound, a longer wait"
        name = f"simulated ponds judged, {plain(members, 0)}"
        return self._counts.setdefault(members, chosen(name, float(members), "", words))

    @cached_property
    def lost(self) -> Value:
        """Ponds that lost their refuge by the plan: the sum over what took it."""
        failures = self.start.risk.failures
        if failures and sum(count for _, count in self.start.bound_by) == failures:
            terms = {f"n{k}": self.by_cause[k] for k in range(len(self.by_cause))}
            return counted(
                "ponds lost with this plan", float(failures), "", " + ".join(terms), terms, words=LOST
            )
        return self.of_ponds("ponds lost with this plan", float(failures), "", LOST)

    @cached_property
    def by_cause(self) -> list[Value]:
        """Ponds lost by the limit that took the refuge."""
        return [
            self.of_ponds(
                f"ponds whose refuge went by {limit}", float(count), "", "the limit passed first is counted"
            )
            for limit, count in self.start.bound_by
        ]

    def lost_count(self, name: str, count: int, ponds: str = "", words: str = LOST) -> Value:
        """Return how many ponds lost their refuge."""
        if name == "this plan" and count == self.start.risk.failures:
            return self.lost
        return self.of_ponds(f"ponds lost, {name}", float(count), "", words, ponds)

    def risk(self, name: str, risk: Risk, ponds: str = "") -> RiskValues:
        """Return the values of one line of losses."""
        return self._risks.setdefault(name, RiskValues(self, name, risk, ponds))

    def bound(self, name: str, failures: Value, members: Value, bound_fraction: float) -> Value:
        """Return a one-sided upper bound, by its balance: at it so few losses come once in twenty."""
        if failures.number >= members.number:
            return chosen(name, 1.0, "fraction", "every pond was lost: no bound is lower", source=BOUND)
        own = summed(f"{name}, to more digits", bound_fraction, "fraction", "found by the beta distribution")
        return balance(
            name, bound_fraction, "fraction", "binomial(k, n, p)", {"k": failures, "n": members, "p": own},
            plain_constant("chance of so few", 0.05, "fraction", "what 95 % leaves"),
            words="the share of lost ponds at which so few or fewer among so many come in one case of twenty",
            source=BOUND,
        )  # fmt: skip

    @cached_property
    def plan_risk(self) -> RiskValues:
        """The plan's own losses."""
        return self.risk("this plan", self.start.risk)

    @cached_property
    def answered(self) -> Value:
        """Upper bound of what the plan answers for."""
        number = self.start.answered_upper95_fraction
        if not self.start.already_failing:
            return self.plan_risk.upper
        words = (
            "upper end of the 95 % interval of the losses that the plan adds to those without air, pond by pond: "
            "Wald's interval with half a pond added to each of the four cells"
        )
        return simulated(
            "upper bound of what the plan adds", abs(number), "fraction", f"{words}, over {self.fresh}",
            source="Agresti & Min 2005, Stat. Med. 24:729 (from memory)",
        )  # fmt: skip

    @cached_property
    def worst_day(self) -> Value:
        """Upper bound of the riskiest day."""
        number = self.start.worst_day_upper95_fraction
        worst = max(self.start.days, key=lambda day: day.failures, default=None)
        if worst is not None and abs(worst.risk_upper95_fraction - number) < 1e-12:
            return self.day_bound(worst)
        return simulated(
            "upper bound of the riskiest day", number, "fraction",
            f"the greatest of the days' bounds, days that the table does not show among them, over {self.fresh}",
            source=BOUND,
        )  # fmt: skip

    @cached_property
    def accepted(self) -> tuple[Value, Value]:
        """What is accepted, on the job and on any day."""
        wishes = self.files.job.wishes
        return (
            self.files.field("accepted on the job", wishes.job_risk, "fraction", "wishes.job_risk"),
            self.files.field("accepted on any day", wishes.day_risk, "fraction", "wishes.day_risk"),
        )

    @cached_property
    def horizon(self) -> Value:
        """Days simulated."""
        words = f"{self.files.words('wishes.longest_start_up')}, {LONGEST_HORIZON_D} at most"
        return chosen("days simulated", float(self.start.horizon_d), "", words)

    @cached_property
    def days_to_complete(self) -> list[Value]:
        """Median days to completion, and the part of the ponds that complete."""
        found: list[Value] = []
        if self.start.days_to_complete is not None:
            words = (
                "days from the first run to the second dawn at which the pond is mixed with oxygen below: the median "
                "of the ponds that kept their refuge"
            )
            found.append(self.of_ponds("days to completion", self.start.days_to_complete, "", words))
        return [*found, self.completed("this plan", self.start.completed_fraction, self.members)]

    def completed(self, name: str, part_fraction: float, members: Value, ponds: str = "") -> Value:
        """Return which part of the ponds completed and kept its refuge."""
        count = self.of_ponds(
            f"ponds complete, {name}", round(part_fraction * members.number), "",
            "mixed through within the days simulated, refuge kept", ponds,
        )  # fmt: skip
        return counted(
            f"part complete, {name}", part_fraction, "fraction", "c / n", {"c": count, "n": members}
        )

    def visits(self, name: str, visits_number: float, ponds: str = "") -> Value:
        """Return the mean count of visits."""
        words = "mean of the visits up to completion, and the one that proves it"
        return self.of_ponds(f"visits, {name}", visits_number, "", words, ponds)

    def day_lost(self, day: RunDay) -> Value:
        """Return the ponds lost on a day."""
        words = "ponds whose refuge went between this run's start and the next"
        return self.of_ponds(f"ponds lost on day {day.number}", float(day.failures), "", words)

    def day_bound(self, day: RunDay) -> Value:
        """Return the upper bound of a day's losses."""
        name = f"upper bound of day {day.number}"
        return self.bound(name, self.day_lost(day), self.members, day.risk_upper95_fraction)

    @cached_property
    def later(self) -> list[Value]:
        """Return the ponds lost after the table's last day, and the bound of the worst of those days."""
        found = self.start.later
        if found is None:
            return []
        words = f"ponds whose refuge went on days {found.first_number} to {found.last_number}"
        lost = self.of_ponds("ponds lost on later days", float(found.failures), "", words)
        worst = self.of_ponds("ponds lost on the worst later day", float(found.worst_failures), "", words)
        bound = self.bound(
            "upper bound of the worst later day", worst, self.members, found.worst_upper95_fraction
        )
        return [lost, bound]

    def minutes(self, day: RunDay) -> Value:
        """Return a day's running time."""
        words = (
            f"a step of the schedule {self.start.name}: {CHOICES[self.start.chosen_as]}; "
            f"{self.start.searched_candidates} schedules were tried on {self.tried_on}"
        )
        return chosen(f"air on day {day.number}", float(day.minutes), "min", words, source=WATER)

    @cached_property
    def start_hour(self) -> list[Value]:
        """Clock hours at which runs start."""
        words = f"hour of the start, the best of those tried on {self.tried_on}"
        hours = dict.fromkeys(day.start_hour_h for day in self.start.days if day.start_hour_h is not None)
        return [chosen("start of a run", 60.0 * hour, "o'clock", words) for hour in hours]

    def schedule(self) -> list[Value]:
        """Return what the name of the schedule may show."""
        name = self.start.name
        words = "part of the schedule's name, a day or a count of days: docs/startup.md says which schedules are tried"
        said = values_said(name, "number in the name of the schedule", Kind.CHOSEN, words)
        return [*(self.minutes(day) for day in self.start.days), *self.start_hour, *said]


class RiskValues:
    """The losses of one schedule, their bound, and those of the same ponds and days without air.

    Attributes:
        lost, members, still: counts.
    """

    def __init__(self, values: StartValues, name: str, risk: Risk, ponds: str) -> None:
        self._values, self._name, self._risk = values, name, risk
        self.members = values.members if name == "this plan" else values.pond_count(risk.members)
        self.lost = values.lost_count(name, risk.failures, ponds)
        self.still = values.of_ponds(
            f"ponds lost without air, beside {name}", float(round(risk.baseline_risk * risk.members)), "",
            "the same ponds over the same days, the compressor off", ponds,
        )  # fmt: skip

    @cached_property
    def upper(self) -> Value:
        """Upper bound of the share lost."""
        name = f"upper bound of the losses, {self._name}"
        return self._values.bound(name, self.lost, self.members, self._risk.risk_upper95_fraction)

    @cached_property
    def added(self) -> Value:
        """Share lost more than without air."""
        return relation(
            f"added by {self._name}", self._risk.added_risk, "fraction", "(k - s) / n",
            {"k": self.lost, "s": self.still, "n": self.members},
        )  # fmt: skip
