"""The choice of equipment for people."""

from __future__ import annotations

from plumeline.cli.figures import EMPTY, percent
from plumeline.cli.tables import listing, paragraph, table
from plumeline.pairs import said
from plumeline.stages.choice import ChoiceResult, Verdict
from plumeline.stages.choice.lines import distance_rows, winner_rows
from plumeline.units import plain
from plumeline.units.showing import System


def choice_blocks(found: ChoiceResult, units: System) -> list[str]:
    """Return the texts of a choice: the winner, what comes next, the compressors, the losers, the distance."""
    count = f"{found.tried_count} combinations tried, {found.works_count} work."
    blocks = [paragraph(count)]
    if found.winner is not None:
        blocks.append(listing(winner_rows(found, units), title="The least cost over the years"))
    if found.alternatives:
        rows = [
            (item.combination.words, item.why_shown, said(item.reason, units)) for item in found.alternatives
        ]
        blocks.append(table(("next to it", "shown as", "why it loses"), rows, align="lll"))
    blocks += [
        text for text in (_compressors(found, units), _groups(found, units), _distance(found, units)) if text
    ]
    return blocks


def shown_verdicts(found: ChoiceResult) -> list[Verdict]:
    """Return the compressors to show: those that work, and the others singly."""
    return [item for item in found.verdicts if item.works or item.compressor_count == 1]


def machine_words(item: Verdict) -> str:
    """Return a compressor's name, with its number where there are two."""
    return f"{item.compressor_count} × {item.machine}" if item.compressor_count > 1 else item.machine


def _compressors(found: ChoiceResult, units: System) -> str:
    rows = [
        (
            machine_words(item),
            EMPTY if item.extra_money is None else plain(item.extra_money, 0),
            said(item.reason, units),
        )
        for item in shown_verdicts(found)
    ]
    heads = ("compressor", f"dearer by\n{found.currency}", "at its best")
    return table(heads, rows, align="lrl", title="Each compressor at its best")


def _groups(found: ChoiceResult, units: System) -> str:
    if not found.groups:
        return ""
    rows = [
        (group.cause, f"{group.member_count}", f"{group.nearest}: {said(group.words, units)}")
        for group in found.groups
    ]
    return table(
        ("can't be taken", "how\nmany", "the nearest of them"),
        rows,
        align="lrl",
        title="What the others fail on",
    )


def _distance(found: ChoiceResult, units: System) -> str:
    service = found.service
    if service is None:
        return ""
    rows = distance_rows(found)
    if service.voltage_drop_fraction is not None:
        rows.append(
            (
                "lost in that wire",
                f"{service.voltage_drop_v:.1f} V, {percent(service.voltage_drop_fraction, 1)}",
            )
        )
    rows.append(("meaning", said(service.sentence, units)))
    return listing(rows, title=f"Power at the pond, or a long air line (over {found.years} years, all in)")
