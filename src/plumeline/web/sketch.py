"""A sketch of the plan: places moved on the page, worked through by the same stages as a saved job."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ConfigDict, Field
from shapely import Point as XYPoint

from plumeline.errors import InputError
from plumeline.job.document import MOST_BENDS, Diffuser, Job, LocalPoint, Place
from plumeline.stages.choice.terms import terms_of
from plumeline.stages.plan import all_notices
from plumeline.stages.sizing import Agreed, agreed
from plumeline.stages.survey import Survey
from plumeline.stages.survey.plane import LocalPlane
from plumeline.units import plain, show
from plumeline.units.air import show_air
from plumeline.units.showing import System
from plumeline.web.field_faults import FieldFault, FieldsError, told
from plumeline.web.recent import Recent
from plumeline.web.showing import notice_lines
from plumeline.web.typed_places import (
    Metres,
    Typed,
    length_words,
    places_of,
    places_words,
    read_spot,
    typed_length,
)
from plumeline.web.work import Design

MOST_DIFFUSERS = 40
KEPT = 64
"""Sketches whose answers are kept, so that undo and redo come at once."""


class SketchPlace(BaseModel):
    """A place in the pond's plane: metres east and north of its middle, or typed with a unit."""

    model_config = ConfigDict(extra="forbid")
    x_m: Metres
    y_m: Metres
    east: Typed | None = None
    north: Typed | None = None


class Bend(BaseModel):
    """A place that a line is led through."""

    model_config = ConfigDict(extra="forbid")
    x_m: Metres
    y_m: Metres


class SketchDiffuser(SketchPlace):
    """A diffuser at its place, and the places that its line is led through from the manifold."""

    name: str = Field(min_length=1, max_length=40)
    bends: list[Bend] = Field(default=[], max_length=MOST_BENDS)
    through: Typed | None = None


class Sketch(BaseModel):
    """What the page has moved, made on a revision."""

    model_config = ConfigDict(extra="forbid")
    revision_number: int = Field(ge=1, le=10**9)
    manifold: SketchPlace
    diffusers: list[SketchDiffuser] = Field(min_length=1, max_length=MOST_DIFFUSERS)


@dataclass(frozen=True)
class Worked:
    """A sketch worked through: the job that it stands for, and what the stages say of it."""

    job: Job
    found: Agreed


class Sketches:
    """The sketches worked through last."""

    def __init__(self) -> None:
        self._made: Recent[str, Worked] = Recent(KEPT)

    def of(self, design: Design, pond_id: str, sketch: Sketch) -> Worked:
        """Return a sketch worked through.

        Raises:
            InputError: a place lies outside the water, two diffusers have one name, or the pond is built already.
            PlumelineError: from the stages.
        """

        def worked() -> Worked:
            job = sketched(design.job, design.survey, sketch)
            return Worked(job, agreed(job, design.survey, seed=job.seed))

        return self._made.of(f"{pond_id}\n{sketch.model_dump_json()}", worked)


def read_typed(sketch: Sketch) -> Sketch:
    """Return a sketch with what was typed read as metres.

    Raises:
        FieldsError: it is no length, or lies far away; every such field is named.
    """
    faults: list[FieldFault] = []

    def read(place: SketchPlace, label: str, row_index: int) -> dict[str, Any]:
        faults.extend(_unread(place, label, row_index))
        if faults:
            return {}
        try:
            found = read_spot(place.model_dump(exclude_none=True), label)
        except InputError as error:
            faults.append(told(error, f"east{row_index}", label))
            return {}
        found.pop("index", None)
        if isinstance(place, SketchDiffuser):
            found |= _led(place, row_index, faults)
        return found

    manifold = read(sketch.manifold, "manifold", 0)
    diffusers = [read(item, item.name, n) for n, item in enumerate(sketch.diffusers, 1)]
    if faults:
        raise FieldsError(faults)
    return Sketch.model_validate(
        {"revision_number": sketch.revision_number, "manifold": manifold, "diffusers": diffusers}
    )


def _unread(place: SketchPlace, label: str, row_index: int) -> list[FieldFault]:
    """Return what can't be read of a place, at its fields: the page numbers them, the manifold's with 0."""
    faults = []
    for axis, text in (("east", place.east), ("north", place.north)):
        name = f"{label}, {axis}"
        try:
            if text is not None:
                typed_length(text, name)
        except InputError as error:
            faults.append(told(error, f"{axis}{row_index}", name))
    return faults


def _led(item: SketchDiffuser, row_index: int, faults: list[FieldFault]) -> dict[str, Any]:
    """Return the bends of a line, with what was typed of them read as metres, and add what can't be read."""
    kept = [bend.model_dump() for bend in item.bends]
    if item.through is None:
        return {"bends": kept}
    try:
        found = places_of(item.through, f"line of {item.name}", MOST_BENDS)
    except InputError as error:
        faults.append(told(error, f"through{row_index}", f"line of {item.name}"))
        return {}
    return {"through": None, "bends": found}


def plane_name(plane: LocalPlane) -> str:
    """Return a name of the middle from which a sketch counts its metres: another shore has another one."""
    return f"{plane.longitude_deg:.7f},{plane.latitude_deg:.7f}"


def over_planes(x_m: float, y_m: float, before: LocalPlane, after: LocalPlane) -> tuple[float, float]:
    """Return a place of one plane in metres of another, to a millimetre."""
    x_after_m, y_after_m = after.to_xy(before.to_point(x_m, y_m))
    return round(x_after_m, 3), round(y_after_m, 3)


def laid_over(sketch: Sketch, before: LocalPlane, after: LocalPlane, number: int) -> dict[str, Any]:
    """Return a sketch at the same places on the ground, counted in the plane of another revision.

    Args:
        sketch: as read; nothing in it is typed.
        before: the plane it was made in.
        after: the plane of the other revision.
        number: of that revision.
    """

    def moved(place: SketchPlace) -> dict[str, Any]:
        x_m, y_m = over_planes(place.x_m, place.y_m, before, after)
        found = {**place.model_dump(exclude_none=True), "x_m": x_m, "y_m": y_m}
        if isinstance(place, SketchDiffuser):
            bends = [over_planes(bend.x_m, bend.y_m, before, after) for bend in place.bends]
            found["bends"] = [{"x_m": x_m, "y_m": y_m} for x_m, y_m in bends]
        return found

    return {
        "revision_number": number,
        "manifold": moved(sketch.manifold),
        "diffusers": [moved(item) for item in sketch.diffusers],
    }


def sketched(job: Job, survey: Survey, sketch: Sketch) -> Job:
    """Return the job that a sketch stands for.

    Raises:
        InputError: as in `Sketches.of`.
    """
    if job.as_built is not None and job.as_built.diffusers:
        raise InputError(
            "this pond is built: the plan shows where its diffusers lie.",
            remedy="Change [as_built] on the page of its files.",
        )
    names = [item.name for item in sketch.diffusers]
    if len(set(names)) < len(names):
        raise InputError("two diffusers have one name.", remedy="Give each its own.")
    dry = [
        FieldFault(f"east{n}", item.name, "it lies outside the water. Place it within the shore.")
        for n, item in enumerate(sketch.diffusers, 1)
        if not survey.polygon.covers(XYPoint(item.x_m, item.y_m))
    ]
    dry += [
        FieldFault(
            f"through{n}", f"line of {item.name}", "a bend lies outside the water. Place it within the shore."
        )
        for n, item in enumerate(sketch.diffusers, 1)
        if not all(survey.polygon.covers(XYPoint(bend.x_m, bend.y_m)) for bend in item.bends)
    ]
    if dry:
        raise FieldsError(dry)
    before = {item.name: item for item in job.air.diffusers}
    diffusers = tuple(
        before.get(item.name, Diffuser(name=item.name)).model_copy(
            update={
                "place": _place(job, survey, item),
                "branch_through": tuple(_place(job, survey, bend) for bend in item.bends),
            }
        )
        for item in sketch.diffusers
    )
    air = job.air.model_copy(
        update={"manifold": _place(job, survey, sketch.manifold), "diffusers": diffusers}
    )
    return job.model_copy(update={"air": air})


def _place(job: Job, survey: Survey, item: SketchPlace | Bend) -> Place:
    """Return a place as the job writes its others, to a centimetre."""
    if isinstance(job.air.manifold, LocalPoint) or any(
        isinstance(d.place, LocalPoint) for d in job.air.diffusers
    ):
        return LocalPoint(x_m=round(item.x_m, 2), y_m=round(item.y_m, 2))
    found = survey.plane.to_point(item.x_m, item.y_m)
    return found.model_copy(
        update={"longitude_deg": round(found.longitude_deg, 7), "latitude_deg": round(found.latitude_deg, 7)}
    )


def sketch_of(design: Design, number: int) -> dict[str, Any]:
    """Return the sketch that says what a saved revision says."""
    layout = design.layout
    return {
        "revision_number": number,
        "manifold": {"x_m": round(layout.manifold_xy[0], 3), "y_m": round(layout.manifold_xy[1], 3)},
        "diffusers": [
            {
                "name": item.name,
                "x_m": round(item.x_m, 3),
                "y_m": round(item.y_m, 3),
                "bends": [
                    {"x_m": round(bend.xy[0], 3), "y_m": round(bend.xy[1], 3)} for bend in item.branch_bends
                ],
            }
            for item in layout.diffusers
        ],
    }


def answer(worked: Worked, units: System) -> dict[str, Any]:
    """Return what the page shows of a sketch: numbers in SI, and the same in words of the asked units."""
    layout, air = worked.found.layout, worked.found.air
    rows = []
    for item in layout.diffusers:
        flow_m3_s = air.diffuser_flow_standard_m3_s(item.name)
        port_pa = air.balanced.branch(item.name).port_pressure_pa
        rows.append({
            "name": item.name, "x_m": item.x_m, "y_m": item.y_m, "depth_m": item.depth_m,
            "flow_standard_m3_s": flow_m3_s, "port_pressure_pa": port_pa, "branch_cut_m": item.branch_cut_m,
            "branch_path_xy_m": [list(xy) for xy in item.branch_path_xy],
            "bends_xy_m": [list(bend.xy) for bend in item.branch_bends],
            "served_volume_m3": item.served_volume_m3, "reach_m": item.reach_m,
            "said": {
                **place_said(item.x_m, item.y_m, units),
                "through": places_words([bend.xy for bend in item.branch_bends], units),
                "depth": show(item.depth_m, "m", units), "flow": show_air(flow_m3_s, units),
                "pressure": show(port_pa, "pa", units, gauge=True), "cut": show(item.branch_cut_m, "m", units),
                "serves": show(item.served_volume_m3, "m3", units),
            },
        })  # fmt: skip
    money, assumed, currency = _materials_money(worked)
    tail = " (assumed prices)" if assumed else ""
    notices = all_notices(worked.found.notices, air.notices, layout.notices)
    cut_m = sum(item.branch_cut_m for item in layout.diffusers)
    return {
        "diffusers": rows,
        "manifold": {
            "x_m": layout.manifold_xy[0], "y_m": layout.manifold_xy[1],
            "said": place_said(*layout.manifold_xy, units),
        },
        "compressor_pressure_pa": air.balanced.compressor_pressure_pa,
        "flow_standard_m3_s": air.flow_standard_m3_s,
        "turnover_per_day": layout.turnover_per_day,
        "served_fraction": layout.served_fraction,
        "branch_cut_m": cut_m,
        "materials_money": money,
        "sums": [
            ["compressor's gauge", show(air.balanced.compressor_pressure_pa, "pa", units, gauge=True)],
            ["air in all", show_air(air.flow_standard_m3_s, units)],
            ["turnover", f"{layout.turnover_per_day:.2f} a day (wanted {layout.wanted_turnover_per_day:.2f})"],
            ["water served at the wanted rate", f"{layout.served_fraction * 100:.0f} %"],
            ["branch line to cut", show(cut_m, "m", units)],
            ["diffusers and branch line", f"{currency} {plain(money, 0)}{tail}".strip()],
        ],
        "notices": [row for row in notice_lines(notices, units) if row["severity"] != "note"],
    }  # fmt: skip


def place_said(x_m: float, y_m: float, units: System) -> dict[str, str]:
    """Return a place in words: how far east and north of the plane's middle, to a tenth of a foot or a centimetre."""
    return {"east": length_words(x_m, units), "north": length_words(y_m, units)}


def _materials_money(worked: Worked) -> tuple[float, bool, str]:
    """Return what diffusers and branch line cost, whether a price was assumed, and the currency."""
    terms = terms_of(worked.job)
    cut_m = sum(item.branch_cut_m for item in worked.found.layout.diffusers)
    money = (
        len(worked.found.layout.diffusers) * terms.price_money["diffuser"]
        + cut_m * terms.price_money["branch"]
    )
    return money, bool({"diffuser", "branch"} & set(terms.assumed)), terms.currency


def same_text(sketch: dict[str, Any]) -> str:
    """Return a sketch as JSON for a page's script block: nothing in it can end the block."""
    return json.dumps(sketch, ensure_ascii=True).replace("<", "\\u003c")
