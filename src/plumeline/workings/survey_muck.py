"""How the numbers about muck come about: its volume, its thickness, and what a diffuser stands on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from plumeline.cli.show_muck import TITLE, UNDER
from plumeline.sources.priors import SCORE_95
from plumeline.stages.layout.bases import PLATE_M, THIN_M
from plumeline.stages.survey.muck import PROBE_ERROR_M, PUSH_FRACTION
from plumeline.stages.survey.result import Muck
from plumeline.workings.book import Book
from plumeline.workings.value import Value, chosen, measured, plain_constant, relation, summed

if TYPE_CHECKING:
    from plumeline.workings.layout import LayoutValues
    from plumeline.workings.survey import SurveyValues

BANDS = 8
SOURCE = "Rasmussen & Williams 2006, Gaussian Processes for Machine Learning; O'Hagan 1991 for its volume"


def put_muck(book: Book, values: SurveyValues) -> None:
    """Put down how the muck's figures come about.

    Args:
        book: of the survey.
        values: of the survey.
    """
    muck = values.found.muck
    probes = measured(
        "muck probes",
        float(sum(item.muck_m is not None for item in values.files.job.pond.soundings)),
        "",
        "soundings.csv: rows with muck or a firm depth",
    )
    rows = measured("rows", float(len(values.files.job.pond.soundings)), "", "soundings.csv: its rows")
    few = plain_constant("probes that are enough", 10.0, "", "judgement")
    if muck is None:
        book.at("notice", "muck-few", values=[probes, rows, few])
        return
    volume = _volume(muck)
    low, high = _band(muck, volume)
    error = relation(
        "standard error of the muck, of its volume", muck.volume_se_m3 / muck.volume_m3, "fraction", "s / V",
        {"s": summed("standard error of the muck", muck.volume_se_m3, "m3",
                     "what each surface weighed leaves open, how far they lie apart, and "
                     f"{100 * PUSH_FRACTION:g} % for the hand that pushes (judgement)"), "V": volume},
        source=SOURCE,
    )  # fmt: skip
    mean = relation("mean thickness of the muck", muck.mean_m, "m", "V / A", {"V": volume, "A": values.area})
    used = measured(
        "muck probes used", float(muck.probe_count), "", "soundings.csv: probed rows that were used"
    )
    thickest = chosen(
        "thickest muck", muck.thickest_m, "m", "the thickest cell of the muck's surface", source=SOURCE
    )
    point = values.found.plane.to_point(*muck.thickest_xy)
    places = [
        chosen(f"{name} of the thickest muck", number, "", "middle of the thickest cell")
        for name, number in (("latitude", point.latitude_deg), ("longitude", point.longitude_deg))
    ]
    pair = chosen(
        "error of one pair", muck.probe_error_m, "m",
        f"the mean of five errors tried about {PROBE_ERROR_M} m, each by the weight of its surfaces", source=SOURCE,
    )  # fmt: skip
    deep = chosen(
        "weight of surfaces in which muck grows with depth", muck.deep_fraction, "fraction",
        "of three kinds tried: even in depth, by its root, by the depth itself; marginal likelihood", source=SOURCE,
    )  # fmt: skip
    cells = {
        "volume of muck": [volume],
        "90 % band of it": [low, high, error, _ninety()],
        "mean thickness": [mean],
        "thickest": [thickest, *places],
        "muck probes used": [used],
        "error of one pair": [pair],
        "pattern": [deep],
    }
    for name, cell in cells.items():
        book.at("part", TITLE, name, values=cell)
    book.at("notice", "muck-few", values=[used, probes, rows, few, low, high])
    book.at("sentence", "Soft muck", values=[volume, low, high, thickest, mean, used])


def _ninety() -> Value:
    return plain_constant("part of the band", 0.9, "fraction", "a rule of this program: 5 % to 95 %")


def _volume(muck: Muck) -> Value:
    """Return the volume as the sum over all cells, written in bands of thickness."""
    thick = muck.grid.thickness_m
    wet = np.isfinite(thick)
    cell_m2 = float(np.diff(muck.grid.x_m[:2])[0]) ** 2
    band = np.minimum((thick[wet] / max(muck.thickest_m, 1e-9) * BANDS).astype(int), BANDS - 1)
    # cells on the shore are cut: their mean part is taken out of the volume itself
    whole = float(thick[wet].sum()) * cell_m2
    part = muck.volume_m3 / whole if whole > 0 else 1.0
    terms: dict[str, Value] = {}
    for k in range(BANDS):
        inside = band == k
        if inside.any():
            words = (
                f"the {int(inside.sum())} cells of the surface in part {k + 1} of {BANDS} of the thickness"
            )
            terms[f"a{k + 1}"] = summed(
                f"area of band {k + 1} of the muck", float(inside.sum()) * cell_m2 * part, "m2", words
            )
            terms[f"d{k + 1}"] = summed(
                f"mean thickness of band {k + 1}", float(thick[wet][inside].mean()), "m", words
            )
    names = [name[1:] for name in terms if name[0] == "a"]
    return relation(
        "volume of muck", muck.volume_m3, "m3", " + ".join(f"a{k} * d{k}" for k in names), terms,
        shown_formula="Σ area × thickness over the cells of the surface, here summed in bands of thickness",
        words="under the whole pond at the level of the soundings", source=SOURCE,
    )  # fmt: skip


def _band(muck: Muck, volume: Value) -> tuple[Value, Value]:
    words = "of the surfaces weighed, each a normal distribution"
    centre = summed("mean volume of the surfaces weighed", muck.centre_m3, "m3", words)
    ends = (("low end", muck.volume_p05_m3, 5), ("high end", muck.volume_p95_m3, 95))
    low, high = (
        relation(
            f"{name} of the muck's volume", number, "m3", "max(V + q - c, 0)",
            {"V": volume, "c": centre,
             "q": summed(f"{part} % point", number - muck.volume_m3 + muck.centre_m3, "m3", words)},
            source=SOURCE,
        )
        for name, number, part in ends
    )  # fmt: skip
    return low, high


def put_bases(book: Book, values: LayoutValues, stakes_title: str) -> None:
    """Put down the muck under each diffuser, and how long its legs are.

    Args:
        book: of the layout.
        values: of the layout.
        stakes_title: of the crew's table, whose last column is the muck.
    """
    known = [item for item in values.found.diffusers if item.base is not None]
    soft: dict[str, Value] = {}
    for row, item in enumerate(known):
        base = item.base
        assert base is not None
        muck = soft[item.name] = chosen(
            f"muck under {item.name}",
            base.muck_m,
            "m",
            "the muck's surface in the cell of its place",
            source=SOURCE,
        )
        upper = relation(
            f"muck under {item.name}, not exceeded 19 times of 20", base.upper_m, "m", f"t + {SCORE_95:.7f} * s",
            {"t": muck, "s": summed("standard error of the muck there", base.muck_se_m, "m", SOURCE)},
            source="normal distribution, 95 %",
        )  # fmt: skip
        book.at("part", UNDER, str(row), "1", values=[muck])
        book.at("part", UNDER, str(row), "2", values=[upper])
        if base.legs_m is not None:
            legs = relation(
                f"legs of {item.name}", base.legs_m, "m", "u + b", {"u": upper, "b": values.base()},
                words=f"a stand where muck may be over {PLATE_M} m, a plate over {THIN_M} m",
                source="common practice, no published source",
            )  # fmt: skip
            book.at("part", UNDER, str(row), "4", values=[legs])
        book.at("notice", "muck-deep", values=[muck])
    for row, stake in enumerate(values.found.stakes):
        if stake.name in soft:
            book.at("part", stakes_title, str(row), values=[soft[stake.name]])
            book.at("part", stakes_title, str(row), str(3 + 2 * len(stake.sights)), values=[soft[stake.name]])
