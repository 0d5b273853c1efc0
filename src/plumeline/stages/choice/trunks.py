"""The trunks to choose from: polyethylene of each size along the job's route, or the pipe that lies there."""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.job.document import Job
from plumeline.sources import read_table
from plumeline.stages.air.line import designed_trunk, given_trunk
from plumeline.stages.air.old_pipe import OLD_PIPE, believe
from plumeline.stages.air.results import TrunkPiece
from plumeline.stages.choice.terms import Terms

PIPES = ("pe-1/2", "pe-3/4", "pe-1", "pe-1-1/4", "pe-1-1/2")
LIES_THERE = "the pipe that lies there"


@dataclass(frozen=True)
class TrunkOption:
    """One trunk, and whether it has still to be bought and laid."""

    name: str
    pieces: tuple[TrunkPiece, ...]
    new: bool = True


def trunk_options(job: Job) -> tuple[TrunkOption, ...]:
    """Return the trunks to choose from: what was built alone, an old pipe (its middle bore) beside new ones.

    Raises:
        InputError: neither a trunk nor a length of route is known.
    """
    if job.as_built is not None and job.as_built.trunk:
        return (TrunkOption(LIES_THERE, given_trunk(job), new=False),)
    lies: tuple[TrunkOption, ...] = ()
    if job.air.old_pipe is not None or any(piece.pipe == OLD_PIPE for piece in job.air.trunk):
        lies = (TrunkOption(LIES_THERE, given_trunk(believe(job)[0]), new=False),)
    if job.air.trunk:
        return (*lies, *(TrunkOption(pipe, _swapped(job, pipe)) for pipe in PIPES))
    if lies and job.air.route_length_m is None:
        return lies
    return (*lies, *(TrunkOption(pipe, designed_trunk(job, pipe)) for pipe in PIPES))


def _swapped(job: Job, pipe: str) -> tuple[TrunkPiece, ...]:
    """Return the job's trunk with its plastic of another size, and its metal of the same size where there is one."""
    rows = {row["name"]: row for row in read_table("pipes")}
    nominal = rows[pipe]["nominal"]
    metals = {row["material"]: row["metal"] == "yes" for row in read_table("pipe_materials")}
    pieces = []
    for piece in job.air.trunk:
        row = rows.get(piece.pipe)
        other = pipe
        if row is not None and metals.get(row["material"], False):
            alike = [
                r["name"]
                for r in rows.values()
                if r["material"] == row["material"] and r["nominal"] == nominal
            ]
            other = alike[0] if alike else piece.pipe
        pieces.append(piece.model_copy(update={"pipe": other, "bore_m": None}))
    line = job.air.model_copy(update={"trunk": tuple(pieces)})
    return given_trunk(job.model_copy(update={"air": line, "as_built": None}))


@dataclass(frozen=True)
class TrunkTaken:
    """What a trunk takes: metres to buy of each material, and metres to dig; nothing where it lies there.

    Attributes:
        metal_m: of metal pipe.
        plastic_m: of plastic pipe.
        plastic_per_m: price of a metre of it, the mean over its sizes.
        dug_m: of trench.
    """

    metal_m: float = 0.0
    plastic_m: float = 0.0
    plastic_per_m: float = 0.0
    dug_m: float = 0.0


def trunk_taken(option: TrunkOption, terms: Terms, metal_length_m: float) -> TrunkTaken:
    """Return what a trunk takes to buy and to lay.

    Args:
        option: the trunk.
        terms: prices.
        metal_length_m: length from the compressor that must be metal; at least the metal that is drawn.
    """
    if not option.new:
        return TrunkTaken()
    length_m = sum(piece.length_m for piece in option.pieces)
    drawn_m = sum(piece.length_m for piece in option.pieces if piece.metal)
    metal_m = min(max(metal_length_m, drawn_m), length_m)
    dug_m = sum(piece.length_m for piece in option.pieces if piece.cover_m > 0.0)
    return TrunkTaken(metal_m, length_m - metal_m, _plastic_per_m(option, terms), dug_m)


def _plastic_per_m(option: TrunkOption, terms: Terms) -> float:
    """Return the price of a metre of a trunk's plastic, over its pieces where they are of several sizes."""
    nominal = {row["name"]: row["nominal"] for row in read_table("pipes")}
    plastic = [piece for piece in option.pieces if not piece.metal] or list(option.pieces)
    length_m = sum(piece.length_m for piece in plastic)
    # a pipe of a bore of its own stands in no table: it counts as the dearest
    return sum(piece.length_m * terms.pipe_per_m(nominal.get(piece.pipe, "")) for piece in plastic) / length_m


def trunk_of(job: Job, pieces: tuple[TrunkPiece, ...]) -> TrunkOption:
    """Return the trunk of a line that is solved, named by its plastic; what lies in the ground costs nothing."""
    names = list(dict.fromkeys(piece.pipe for piece in pieces if not piece.metal))
    names = names or list(dict.fromkeys(piece.pipe for piece in pieces))
    if not trunk_options(job)[0].new:
        return TrunkOption(LIES_THERE, pieces, new=False)
    return TrunkOption(" and ".join(names), pieces)
