"""Heat, plastic and noise of an air line for people."""

from __future__ import annotations

from plumeline.cli.figures import EMPTY, column, column_unit
from plumeline.cli.tables import listing, table
from plumeline.pairs import said
from plumeline.stages.air.heat import HotDay
from plumeline.stages.air.lines_of_heat import heat_rows, joint_state, noise_rows
from plumeline.stages.air.noise import Noise
from plumeline.units import show
from plumeline.units.showing import System


def heat_blocks(found: HotDay | None, units: System) -> list[str]:
    """Return the texts of the hot day: figures, pieces, joints."""
    if found is None:
        return []
    rows = [(said(name, units), said(value, units)) for name, value in heat_rows(found)]
    blocks = [listing(rows, title="Hot day, dirty filter"), _pieces(found, units)]
    if found.joints:
        blocks.append(_joints(found, units))
    return blocks


def _pieces(found: HotDay, units: System) -> str:
    unit = column_unit("degc", units)
    rows = [
        (
            piece.pipe,
            show(piece.length_m, "m", units),
            f"{show(piece.cover_m, 'm', units)} deep" if piece.cover_m else "open",
            show(piece.cooling_length_m, "m", units),
            column(piece.start_temperature_degc, "degc", units, 0),
            column(piece.end_temperature_degc, "degc", units, 0),
        )
        for piece in found.pieces
    ]
    heads = ("pipe", "length", "lies", "loses 63 %\nof its heat in", f"in\n{unit}", f"out\n{unit}")
    return table(heads, rows, title="Heat along the trunk, hot day")


def _joints(found: HotDay, units: System) -> str:
    unit, pressure = column_unit("degc", units), column_unit("pa", units)
    rows = [
        (
            joint.where,
            show(joint.distance_m, "m", units),
            joint.pipe,
            column(joint.temperature_degc, "degc", units, 0),
            column(joint.service_limit_degc, "degc", units, 0),
            EMPTY if joint.rating_pa is None else column(joint.rating_pa, "pa", units, 0),
            EMPTY if joint.derated_pa is None else column(joint.derated_pa, "pa", units, 0),
            joint_state(joint),
        )
        for joint in found.joints
    ]
    heads = (
        "joint", "at", "plastic", f"air\n{unit}", f"limit\n{unit}", f"rated\n{pressure}", f"warm\n{pressure}", "",
    )  # fmt: skip
    title = "Plastic joints, hot day (ratings are for water; none is for air)"
    return table(heads, rows, align="lrlrrrrl", title=title)


def noise_blocks(found: Noise | None, units: System) -> list[str]:
    """Return the text of the noise; none where its level is not known."""
    if found is None:
        return []
    rows = [(said(name, units), said(value, units)) for name, value in noise_rows(found)]
    return [listing(rows, title="Noise, in the open")]
