"""The alternatives for people: one line a number of diffusers."""

from __future__ import annotations

from plumeline.cli.figures import bullets, percent
from plumeline.cli.tables import paragraph, table
from plumeline.stages.front import Alternative, Front
from plumeline.units import plain, show
from plumeline.units.showing import System


def front_blocks(found: Front, units: System) -> list[str]:
    """Return the table of alternatives, its sentence, and why a number is missing."""
    blocks = [
        table(
            heads(found),
            [_row(item, found, units) for item in found.works],
            align="rrrrrrrrl",
            title="Alternatives",
        )
    ]
    blocks.append(paragraph(sentence(found)))
    missing = [f"{item.diffuser_count}: {item.trouble}" for item in found.alternatives if item.found is None]
    if missing:
        blocks.append(bullets(missing, "Not possible", units))
    return blocks


def heads(found: Front) -> tuple[str, ...]:
    """Return the heads of the table."""
    return (
        "no.", "served", "mean\nway", "turnovers\na day", "mixed\nponds", "days to\nmix", "power\nW",
        f"{found.years} years\n{found.currency}", "",
    )  # fmt: skip


def _row(item: Alternative, found: Front, units: System) -> tuple[str, ...]:
    words = []
    if item.diffuser_count == found.listed_count:
        words.append("own")
    if item.diffuser_count == found.least_count:
        words.append("least")
    if not item.on_front:
        words.append("beaten")
    return (*cells(item, units), ", ".join(words))


def cells(item: Alternative, units: System) -> tuple[str, ...]:
    """Return the figures of one alternative."""
    return (
        str(item.diffuser_count),
        percent(item.served_fraction),
        "" if item.found is None else show(item.found.layout.mean_distance_m, "m", units),
        f"{item.turnover_per_day:.2f}",
        f"{item.mixed_members} of {item.members}",
        "never" if item.mixed_days is None else f"{item.mixed_days:g}",
        f"{item.power_w:.0f}",
        plain(item.cost_money, 0),
    )


def sentence(found: Front) -> str:
    """Return what the alternatives come to."""
    if found.least_count is None:
        return "No number that was tried meets both the wanted turnover and mixing in the simulated water."
    item = next(item for item in found.works if item.diffuser_count == found.least_count)
    more = [other for other in found.works if other.diffuser_count > found.least_count and other.on_front]
    words = (
        f"{item.diffuser_count} is the least number that meets the wanted turnover of "
        f"{found.wanted_turnover_per_day:g} a day and mixes the simulated water: {item.turnover_per_day:.2f} a day, "
        f"{item.mixed_members} of {item.members} simulated ponds mixed, {item.served_fraction:.0%} of the water served."
    )
    if more:
        last = more[-1]
        words += (
            f" {last.diffuser_count} would give {last.turnover_per_day:.2f} a day and {last.served_fraction:.0%} for "
            f"{plain(last.cost_money - item.cost_money, 0)} {found.currency} more over {found.years} years."
        )
    return words
