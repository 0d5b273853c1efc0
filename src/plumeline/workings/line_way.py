"""The length of the air line beside the straight way from the compressor's place, as their notice says both."""

from __future__ import annotations

from plumeline.files.power_place import line_of, straight_of
from plumeline.workings.book import Book
from plumeline.workings.files import Files
from plumeline.workings.value import chosen


def put_way(book: Book, files: Files) -> None:
    """Put down both lengths.

    Args:
        book: of any page: the notice stands on all.
        files: the job.
    """
    (line_m, key), straight = line_of(files.job.air), straight_of(files.job)
    if line_m is None or straight is None:
        return
    least_m, most_m, where = straight
    words = f"from the compressor's place (job.toml, power.place) to {where}, on the sphere of the Earth's mean radius"
    line = files.field("length of the air line", line_m, "m", key)
    book.at(
        "notice", "line-under-straight", values=[line, chosen("straight way, nearest", least_m, "m", words)]
    )
    book.at(
        "notice", "line-over-straight", values=[line, chosen("straight way, farthest", most_m, "m", words)]
    )
