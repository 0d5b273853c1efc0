"""How the numbers about soundings come about: what was tried on those left out, and where to sound next."""

from __future__ import annotations

from plumeline.cli.show_survey import NEXT, TRIED
from plumeline.stages.survey import Survey
from plumeline.workings.book import Book
from plumeline.workings.survey_cases import standard_error
from plumeline.workings.value import Value, chosen, counted, given, measured, relation, summed

BLOCKED = "Roberts et al. 2017, Ecography 40:913 (blocked cross-validation)"
ONE_BY_ONE = "Rasmussen & Williams 2006, eq. 2.26; Krause et al. 2008, J. Mach. Learn. Res. 9:235"


def put_tried(book: Book, found: Survey) -> None:
    """Put down what came of leaving soundings out."""
    what = "line of the track" if found.taken_under_way else "patch of soundings"
    for index, item in enumerate(found.tried):
        words = f"{item.name}: every {what} left out in its turn, and the surface drawn from the others"
        count = measured(
            "soundings tried", float(found.tried_count), "", "places left out, one block after another"
        )
        squares = summed("sum of squares", item.error_m**2 * count.number, "m2", words)
        total = summed("sum of differences", item.bias_m * count.number, "m", words)
        cells = [
            relation("missed by", item.error_m, "m", "sqrt(s / n)", {"s": squares, "n": count}, source=BLOCKED),
            relation("sounding less surface", item.bias_m, "m", "t / n", {"t": total, "n": count}, source=BLOCKED),
            counted("blocks left out", float(found.blocks_count), "", " + ".join(["1"] * found.blocks_count), {},
                    words=f"each {what} once"),
        ]  # fmt: skip
        for column, cell in enumerate(cells, start=1):
            book.at("part", TRIED, str(index), str(column), values=[cell])


def put_next(book: Book, found: Survey, volume: Value) -> list[Value]:
    """Put down the places to sound next, and what each leaves of the volume's error.

    Args:
        book: of the survey.
        found: the survey.
        volume: its volume.

    Returns:
        What the sentence under the plan of the soundings says of them: how many, and the error after the last.
    """
    before = standard_error(found)
    if before is None or not found.next_soundings:
        return []
    after: Value | None = None
    for index, item in enumerate(found.next_soundings):
        point = found.plane.to_point(item.x_m, item.y_m)
        words = (
            f"place {index + 1}: of some 400 over the water the one that takes most off the volume's variance; "
            "where the banks are least sure, first four off those that lie farthest from all soundings"
        )
        off_m6 = found.volume_se_m3**2 - item.volume_se_after_m3**2
        cells = [
            given("latitude", point.latitude_deg, "", words),
            given("longitude", point.longitude_deg, "", words),
            chosen("depth to expect", item.depth_m, "m", "the surface at this place", source=ONE_BY_ONE),
            relation(
                "standard error after it, of the volume", item.volume_se_after_m3 / found.volume_m3, "fraction",
                "sqrt(s^2 - g) / V",
                {"s": before, "V": volume,
                 "g": summed("variance taken off so far", off_m6, "", f"m⁶; by the places down to this one; {words}")},
                source=ONE_BY_ONE,
            ),
        ]  # fmt: skip
        for column, cell in enumerate(cells):
            book.at("part", NEXT, str(index), str(column), values=[cell])
        after = cells[-1]
    places = counted(
        "places to sound next", float(len(found.next_soundings)), "", " + ".join(["1"] * len(found.next_soundings)), {},
        words="those that take the most off the volume's variance, one after the other, unsounded banks first",
    )  # fmt: skip
    return [places, after] if after is not None else []
