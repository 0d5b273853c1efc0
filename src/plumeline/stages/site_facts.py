"""Facts of the site that change what may be done: dangers, cautions, questions, and what forbids a start-up."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from plumeline.errors import InputError
from plumeline.job.document import Answer, Job, Outlet, Power, SiteFacts
from plumeline.notices import Notice, caution, danger, note

HERBICIDE_WAIT_D = 14
"""Dying weed takes oxygen for about two weeks (common practice, no published source)."""

_YES: dict[str, tuple[str, str]] = {
    "private_lines": (
        "danger",
        "There are private lines that the public call does not mark: have a private locator mark them before any "
        "trench.",
    ),
    "earthen_dam": ("danger", "The dam is of earth: no trench, pipe or anchor in it."),
    "well_near": (
        "caution",
        "There is a well near the pond: tell its owner before the first start and keep fuel and oil away from it.",
    ),
    "potable_intake": (
        "danger",
        "People drink from this pond: shut the intake before the first start, tell its operator, and open it again "
        "only when the operator's own tests of the water say so.",
    ),
    "livestock_intake": (
        "caution",
        "Livestock are watered from this pond: give them other water during the start-up, above all with scum or a "
        "smell of rotten eggs.",
    ),
    "irrigation_intake": (
        "caution",
        "Water is drawn for irrigation: stop it during the start-up (a falling level changes pressures, and foul water "
        "goes on the crop), or say when it runs.",
    ),
    "swimmers": (
        "danger",
        "People swim here: nobody in the water during the start-up or while mains power reaches the pond unproved; "
        "boils carry a swimmer less well than still water. Put up signs.",
    ),
    "animals": (
        "caution",
        "Dogs or livestock come to the water: keep them out during the start-up and of any scum.",
    ),
    "spawning_beds": (
        "danger",
        "There are spawning beds in use: no start-up while eggs or fry are on them; keep lines and anchors off them.",
    ),
    "protected_species": (
        "danger",
        "A protected species lives here: ask the wildlife agency before anything is laid or started.",
    ),
    "other_pumps": (
        "caution",
        "Other pumps, fountains or air move this water: they mix it too, which the plan does not count. Switch them "
        "off during the start-up readings, or write when they run.",
    ),
    "outflow_now": (
        "danger",
        "Water leaves the pond: during the start-up it may be cold, sulphidic or without oxygen, and kill what lives "
        "below.",
    ),
}
"""What follows from a yes: severity and words."""

_NO: dict[str, tuple[str, str]] = {
    "utility_located": (
        "danger",
        "No utility-locate ticket is in force: no digging before the public call has been made and the lines are "
        "marked.",
    ),
    "permits_in_hand": ("danger", "Permits are not in hand: lay and start nothing before they are."),
}
"""What follows from a no."""

_QUESTIONS: dict[str, str] = {
    "utility_located": "is a utility-locate ticket in force",
    "private_lines": "are there private lines in the ground",
    "permits_in_hand": "are the permits in hand",
    "earthen_dam": "is the dam of earth",
    "outflow_now": "does water leave the pond these days",
    "well_near": "is there a well near",
    "potable_intake": "does anybody drink from it",
    "livestock_intake": "is livestock watered from it",
    "irrigation_intake": "is it drawn on for irrigation",
    "swimmers": "does anybody swim in it",
    "animals": "do dogs or livestock come to it",
    "spawning_beds": "are eggs or fry on spawning beds now",
    "protected_species": "does a protected species live there",
    "other_pumps": "do other pumps or fountains run",
    "herbicide": "was herbicide or algaecide used lately",
}

_BESIDE: dict[str, dict[str, str]] = {
    "private_lines_located": {
        "no": "no digging before a private locator has marked the lines on the property."
    },
    "heavy_stock": {
        "yes": "more of the water must stay usable, so that more of the simulated ponds count as lost.",
        "no": "the usual share of the water must stay usable.",
    },
}
"""What follows from answers that are no facts of the site, of trench and fish."""

_CREW_QUESTIONS = (
    "utility_located", "private_lines", "permits_in_hand", "earthen_dam", "outflow_now", "potable_intake",
    "livestock_intake", "irrigation_intake", "swimmers", "spawning_beds",
)  # fmt: skip
"""What the crew must know before it digs, and before the first air."""

_MAKERS = {"danger": danger, "caution": caution}

_OUTLET_WAYS = {
    Outlet.GATE: "Hold the gate shut during the start-up.",
    Outlet.BOTTOM: "The outlet draws bottom water: shut it, or raise its inlet, before the first start.",
    Outlet.SURFACE: "Keep the level under the outlet pipe during the start-up, or dilute what leaves.",
    Outlet.SPILLWAY: "Keep the level under the spillway's crest during the start-up, or dilute what leaves.",
}
"""What to do with each kind of outlet while water may leave by it."""


NO_POWER = (
    "There is no power at the site, and the air must run day and night: start nothing before there is. The ways are a "
    "service or a buried line from the nearest power, over the trench that the job counts; a generator, with somebody "
    "to fill it night and day; or sun and batteries, several times the compressor's power in panels and its draw of "
    "some dark days in batteries. None of these is sized or priced here. A start that stops for want of power in its "
    "first days leaves the pond mixed and without oxygen."
)
"""What follows from no power (common practice, no published source)."""


def site_notices(job: Job) -> tuple[Notice, ...]:
    """Return what follows from the facts that are known; of the facts nothing where none was ever asked."""
    return (*power_notices(job.power), *_fact_notices(job))


def power_notices(power: Power | None) -> tuple[Notice, ...]:
    """Return what follows from no power at the site."""
    if power is None or power.available:
        return ()
    return (caution("site-no-power", NO_POWER),)


def _fact_notices(job: Job) -> tuple[Notice, ...]:
    facts = job.site.facts
    if facts is None:
        return ()
    found = [_notice(key, *words) for key, words in _YES.items() if getattr(facts, key) is Answer.YES]
    found += [_notice(key, *words) for key, words in _NO.items() if getattr(facts, key) is Answer.NO]
    found += [*_outlet(facts), *_owners(facts), *_herbicide(job, facts)]
    return tuple(found)


def follows(key: str) -> dict[str, str]:
    """Return what follows from each answer to a question about the pond, by the answer; empty where nothing does."""
    if key == "outlet":
        return {kind.value: words for kind, words in _OUTLET_WAYS.items()}
    if key == "herbicide":
        wait = f"no start-up plan within {HERBICIDE_WAIT_D} days of it without a stated reason, or without its day."
        return {"yes": f"Dying weed takes oxygen: {wait}"}
    if key in _BESIDE:
        return _BESIDE[key]
    told = {"yes": _YES[key][1]} if key in _YES else {}
    return told | ({"no": _NO[key][1]} if key in _NO else {})


def asked_by_crew(key: str) -> bool:
    """Return whether the crew must know a fact before it digs, or before the first air."""
    return key in _CREW_QUESTIONS


def open_questions(facts: SiteFacts | None) -> dict[str, str]:
    """Return what is not known of the site, as questions by their field."""
    known = facts or SiteFacts()
    found = {key: words for key, words in _QUESTIONS.items() if getattr(known, key) is Answer.UNKNOWN}
    if known.outlet is Outlet.UNKNOWN:
        found["outlet"] = "how does water leave it (outlet)"
    if not known.shore_owner.strip():
        found["shore_owner"] = "who owns the shore"
    if not known.bed_owner.strip():
        found["bed_owner"] = "who owns the bed"
    return found


def questions(facts: SiteFacts | None) -> Notice | None:
    """Return one notice of all that is not known of the site, or None."""
    open_ones = open_questions(facts)
    if not open_ones:
        return None
    listing = "; ".join(open_ones.values())
    text = f"Not known of the site, and not known is not no; ask, and write it under [site.facts]: {listing}?"
    return note("site-unknown", text)


def crew_question(facts: SiteFacts | None) -> str:
    """Return what nobody has asked of what the crew must know before it digs and starts; empty where all is known."""
    known = facts or SiteFacts()
    asked = [_QUESTIONS[key] for key in _CREW_QUESTIONS if getattr(known, key) is Answer.UNKNOWN]
    if not asked:
        return ""
    return f"Not known, and not known is not no; ask before digging and before the first air: {'; '.join(asked)}?"


def refuse_start(job: Job) -> None:
    """Refuse a start-up that the facts of the site forbid.

    Raises:
        InputError: spawning beds in use; herbicide within 14 days without a stated reason, or without its day.
    """
    facts = job.site.facts
    if facts is None:
        return
    if facts.spawning_beds is Answer.YES:
        raise InputError(
            "no start-up: eggs or fry are on spawning beds.",
            remedy='Wait until they have left, then write spawning_beds = "no".',
            place="site.facts.spawning_beds",
        )
    if facts.herbicide_reason.strip():
        return
    if facts.herbicide is Answer.YES and facts.herbicide_date is None:
        raise InputError(
            "no start-up: herbicide was used, and its day is not given.",
            remedy="Give herbicide_date, or a herbicide_reason why a start is right all the same.",
            place="site.facts.herbicide_date",
        )
    days = _days_since(job, facts)
    if days is not None and days < HERBICIDE_WAIT_D:
        raise InputError(
            f"no start-up {_after(days)} a treatment: dying weed takes oxygen for about {HERBICIDE_WAIT_D} days.",
            remedy=f"Start {HERBICIDE_WAIT_D} days after it (wishes.start_date), or state herbicide_reason.",
            place="site.facts.herbicide_date",
        )


def _notice(key: str, severity: str, words: str) -> Notice:
    return _MAKERS[severity](f"site-{key.replace('_', '-')}", words)


def _outlet(facts: SiteFacts) -> list[Notice]:
    """Return what to do with the outlet, where water may leave by it."""
    if facts.outflow_now is Answer.NO or facts.outlet in (Outlet.NONE, Outlet.UNKNOWN):
        return [] if facts.outflow_now is not Answer.YES else [caution("site-outlet", _whom(facts))]
    return [caution("site-outlet", f"{_OUTLET_WAYS[facts.outlet]} {_whom(facts)}")]


def _whom(facts: SiteFacts) -> str:
    told = facts.tell_downstream.strip()
    if told:
        return f"Before the first start tell {told}."
    return "Before the first start tell those downstream, and write who they are as tell_downstream."


def _owners(facts: SiteFacts) -> list[Notice]:
    """Return that others have a say, where shore and bed are named with different owners."""
    shore, bed = facts.shore_owner.strip(), facts.bed_owner.strip()
    if not shore or not bed or shore.casefold() == bed.casefold():
        return []
    text = (
        f"The shore belongs to {shore}, the bed to {bed}: both must agree in writing before anything is laid."
    )
    return [caution("site-owners", text)]


def _days_since(job: Job, facts: SiteFacts) -> int | None:
    if facts.herbicide is Answer.NO or facts.herbicide_date is None:
        return None
    return (start_day(job) - facts.herbicide_date).days


def start_day(job: Job) -> date:
    """Return the day on which the air may be started: as wished, but not before the reading that it is planned by."""
    latest = job.latest_profile
    if latest is None:
        return job.wishes.start_date or job.date
    read = latest.time.astimezone(ZoneInfo(job.site.time_zone)).date()
    return max(job.wishes.start_date or read, read)


def _after(days: int) -> str:
    """Return how long after a treatment a day is: "5 days after", and "3 days before" where that is still to come."""
    count = abs(days)
    return f"{count} day{'' if count == 1 else 's'} {'after' if days >= 0 else 'before'}"


def _before_start(days: int) -> str:
    count = abs(days)
    side = "before" if days >= 0 else "after"
    return (
        "on the day of the start" if days == 0 else f"{count} day{'' if count == 1 else 's'} {side} the start"
    )


def _herbicide(job: Job, facts: SiteFacts) -> list[Notice]:
    """Return what a treatment means for the day of the start."""
    days = _days_since(job, facts)
    if days is None and facts.herbicide is not Answer.YES:
        return []
    if days is not None and days >= HERBICIDE_WAIT_D:
        return []
    when = "on a day not given" if days is None else _before_start(days)
    reason = facts.herbicide_reason.strip()
    after = (
        f"It is started all the same, for: {reason}"
        if reason
        else "No start-up plan is made without a reason."
    )
    text = f"Herbicide was used {when}: dying weed takes oxygen for about {HERBICIDE_WAIT_D} days. {after}"
    return [danger("site-herbicide", text)]
