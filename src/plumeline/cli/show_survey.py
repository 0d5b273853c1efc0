"""The survey for people."""

from __future__ import annotations

from plumeline.cli.figures import column, column_unit, percent, shown
from plumeline.cli.show_muck import levels_block, muck_block
from plumeline.cli.tables import listing, table
from plumeline.stages.survey import Survey
from plumeline.stages.survey.result import ShoreEffect
from plumeline.stages.survey.weighing import PRIOR_POWER
from plumeline.units import show
from plumeline.units.showing import System

FOOT_M = 0.3048
STEPS_M = {"us": (FOOT_M, 2 * FOOT_M, 5 * FOOT_M, 10 * FOOT_M), "si": (0.25, 0.5, 1.0, 2.0, 5.0)}
MOST_LEVELS = 18
MOST_LEFT_OUT = 60


def survey_blocks(found: Survey, units: System) -> list[str]:
    """Return the texts of the survey: figures, hypsograph, soundings left out."""
    blocks = [
        listing(_figures(found, units), title="Basin, at today's water level"),
        _hypsograph(found, units),
    ]
    if found.next_soundings:
        blocks.append(_next(found, units))
    if found.tried:
        blocks.append(_tried(found, units))
    blocks += [part for part in (muck_block(found, units), levels_block(found, units)) if part]
    if found.left_out:
        rows = [
            (str(item.row), show(item.depth_m, "m", units), item.reason)
            for item in found.left_out[:MOST_LEFT_OUT]
        ]
        if len(found.left_out) > MOST_LEFT_OUT:
            rows.append(("…", "", "more are named in the survey with --json"))
        blocks.append(table(("row", "depth", "why"), rows, align="rrl", title="Soundings left out"))
    return blocks


NEXT = "Where to sound next, and the volume's error after it and those before it"
TRIED = "Ways to draw the bottom, tried on soundings left out"
TRIED_WORDS = {"smooth": "smooth (Gaussian process)", "facets": "facets between neighbours"}


def _next(found: Survey, units: System) -> str:
    """Return the places whose soundings make the volume surest, in their order."""
    rows = []
    for item in found.next_soundings:
        point = found.plane.to_point(item.x_m, item.y_m)
        rows.append(
            (f"{point.latitude_deg:.6f}", f"{point.longitude_deg:.6f}", show(item.depth_m, "m", units),
             percent(item.volume_se_after_m3 / found.volume_m3, 2))
        )  # fmt: skip
    return table(
        ("latitude", "longitude", "depth to expect", "error of the volume"), rows, align="rrrr", title=NEXT
    )


def _tried(found: Survey, units: System) -> str:
    """Return how far each way to draw the bottom missed soundings that it had not seen."""
    left_out = f"{found.blocks_count} {'lines' if found.taken_under_way else 'patches'} in turn"
    rows = [
        (TRIED_WORDS[item.name], show(item.error_m, "m", units), show(item.bias_m, "m", units),
         left_out, "taken" if item.taken else "")
        for item in found.tried
    ]  # fmt: skip
    return table(
        ("bottom drawn", "missed by", "sounding less surface", "left out", ""),
        rows,
        align="lrrll",
        title=TRIED,
    )


def _figures(found: Survey, units: System) -> list[tuple[str, str]]:
    low, high = (show(value, "m3", units) for value in (found.volume_p05_m3, found.volume_p95_m3))
    error = percent(found.volume_se_m3 / found.volume_m3, 1)
    gallons = f" = {found.volume_m3 / 3785.411784:.2f} million gal" if units == "us" else ""
    rows = [
        ("area", show(found.area_m2, "m2", units)),
        ("length of the shore", show(found.perimeter_m, "m", units)),
        ("volume", show(found.volume_m3, "m3", units) + gallons),
        ("90 % band of the volume", f"{low} to {high} (standard error {error})"),
        ("mean depth", show(found.mean_depth_m, "m", units)),
        ("greatest depth", show(found.max_depth_m, "m", units)),
    ]
    if found.sounding_count:
        rows += [
            ("deepest sounding", shown(found.deepest_sounding_m, "m", units)),
            ("soundings used", f"{found.sounding_count}, {len(found.left_out)} left out"),
            ("error of one sounding", shown(found.reading_error_m, "m", units)),
        ]
    if found.shore is not None:
        rows += _shore(found, found.shore, units)
    rows += [
        ("outline", "assumed: a circle of the same area" if found.outline_assumed else "as given"),
        ("how", found.method),
    ]
    return rows


WALL_STEP_M = {"us": FOOT_M, "si": 0.25}
"""The wall whose worth is told."""


def _shore(found: Survey, shore: ShoreEffect, units: System) -> list[tuple[str, str]]:
    """Return what is taken at the water's edge, and what that does to the volume."""
    more_m3 = shore.gain_m2 * WALL_STEP_M[units]
    taken = (
        "as the job says" if shore.given else "taken; pond.shore_depth or pond.walls say where walls stand"
    )
    walled = (
        f"on the mean of the shore, {show(shore.walled_m, 'm', units)} of it walled"
        if shore.walled_m
        else taken
    )
    # a shift that rounds to nothing has no sign
    shift = percent(round(shore.prior_shift_m3 / found.volume_m3, 3) or 0.0, 1)
    return [
        (
            "depth at the water's edge",
            f"{show(shore.wall_m, 'm', units)}, {walled}; upright walls of {show(WALL_STEP_M[units], 'm', units)} more "
            f"all round: about {show(more_m3, 'm3', units)} more ({percent(more_m3 / found.volume_m3, 1)})",
        ),
        (
            "banks",
            f"depth grows as the distance from shore to the power {shore.power_number:.2f}; that {PRIOR_POWER:g} is "
            f"likely beforehand (judgement) moved the volume by {shift}; "
            + (
                f"falling 1 in {shore.run_number:.3g} at the shore, as the job says"
                if shore.run_number is not None
                else "pond.bank_slope says what is known of it"
            ),
        ),
        *_without(found, shore, units),
    ]


def _without(found: Survey, shore: ShoreEffect, units: System) -> list[tuple[str, str]]:
    """Return what the volume would be, had the job said nothing of walls and banks."""
    if shore.without_m3 is None or shore.without_se_m3 is None:
        return []
    error, now = (
        percent(part, 1)
        for part in (shore.without_se_m3 / shore.without_m3, found.volume_se_m3 / found.volume_m3)
    )
    return [
        (
            "without what is said of the shore",
            f"{show(shore.without_m3, 'm3', units)}, standard error {error}; with it {now}",
        )
    ]


def levels_m(max_depth_m: float, units: System) -> list[float]:
    """Return even depths [m] for a table, at most some eighteen of them."""
    steps = STEPS_M[units]
    step = next((step for step in steps if max_depth_m / step <= MOST_LEVELS), max_depth_m / MOST_LEVELS)
    return [step * count for count in range(int(max_depth_m / step - 1e-9) + 1)]


def _hypsograph(found: Survey, units: System) -> str:
    shape = found.hypsograph
    rows = []
    for depth_m in [*levels_m(found.max_depth_m, units), found.max_depth_m]:
        below = shape.volume_below(depth_m)
        rows.append(
            (
                show(depth_m, "m", units),
                column(shape.area_at(depth_m), "m2", units),
                column(below, "m3", units),
                percent(below / found.volume_m3),
            )
        )
    heads = (
        "depth",
        f"area\n{column_unit('m2', units)}",
        f"water below\n{column_unit('m3', units)}",
        "of all\nwater",
    )
    return table(heads, rows, align="rrrr", title="Hypsograph")
