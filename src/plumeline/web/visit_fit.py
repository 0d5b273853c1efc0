"""Which gauges of a pond's visits its line can have: the others are listed, each with what is wrong."""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.errors import PlumelineError
from plumeline.files.gauge_ports import not_a_port
from plumeline.stages.air.faults import GaugeReading, fit_readings
from plumeline.stages.air.network import COMPRESSOR
from plumeline.stages.air.reading_days import since_built
from plumeline.stages.air.results import MANIFOLD
from plumeline.store import Revision
from plumeline.units import show
from plumeline.units.showing import System
from plumeline.web.site import Site
from plumeline.web.work import Design


@dataclass(frozen=True)
class Unfit:
    """A row of gauges.csv that the line can't have: it is kept, and left out of what is worked out.

    Attributes:
        row: of the file.
        when: on the pond's clock.
        place: as it was written.
        pressure: in words.
        reading: what was read.
        words: what is wrong.
        port: whether the place itself is, so that a port is to be chosen.
    """

    row: int
    when: str
    place: str
    pressure: str
    words: str
    port: bool
    reading: GaugeReading


def ports_of(design: Design) -> tuple[str, ...]:
    """Return the gauges that a design's line has: the compressor's, the manifold's, each diffuser's port."""
    return (COMPRESSOR, MANIFOLD, *(item.name for item in design.air.branches))


def ports_known(site: Site, pond: Revision) -> tuple[str, ...]:
    """Return the same of a saved pond; nothing where no line can be worked out."""
    try:
        return ports_of(site.designs.of(pond))
    except PlumelineError:
        return ()


def sorted_out(
    design: Design, readings: tuple[GaugeReading, ...], units: System
) -> tuple[tuple[GaugeReading, ...], tuple[Unfit, ...]]:
    """Return the readings that the line can have, and the others with what is wrong with each."""
    there, early = since_built(design.job, readings)
    fit, left = fit_readings(tuple(item.name for item in design.air.branches), there)
    unfit = list[Unfit]()
    for item, error in sorted((*early, *left), key=lambda pair: pair[0].row):
        is_port = item.place not in ports_of(design)
        told = not_a_port(item.place, ports_of(design)) if is_port else error
        words = f"{told.message} {told.remedy or ''}".strip()
        when, pressure = f"{item.time:%Y-%m-%d %H:%M}", show(item.pressure_pa, "pa", units)
        unfit.append(Unfit(item.row, when, item.place, pressure, words, is_port, item))
    return fit, tuple(unfit)
