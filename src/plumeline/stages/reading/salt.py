"""What salt does to a pond: it layers water that warmth leaves alike, and poisons are counted as in fresh water."""

from __future__ import annotations

from collections.abc import Sequence

from plumeline.job.document import Job
from plumeline.notices import Notice, caution, note
from plumeline.science.water import density_kell_1975
from plumeline.stages.reading.profile import lines_of
from plumeline.stages.reading.result import Reading
from plumeline.stages.reading.strata import MIXED_BELOW_KG_M3

BRACKISH_G_KG = 1.0
"""From here the water is no longer fresh for the chemistry (judgement; texts put the border at 0.5 to 1)."""


SALT_LAYERED = (
    "Salt parts these layers more than warmth does: saltier water lies under fresher. Wind and cool nights do not turn "
    "such a pond over, and it can hold foul bottom water for years. A thermometer does not show it, nor when air has "
    "mixed it: read conductivity at every depth at each visit."
)


def salt_holds(temperature_degc: Sequence[float], density_kg_m3: Sequence[float]) -> bool:
    """Return whether more of the growth of density from top to bottom is salt's than warmth's.

    Args:
        temperature_degc: from the top down, shape (k,)
        density_kg_m3: shape (k,)
    """
    whole_kg_m3 = density_kg_m3[-1] - density_kg_m3[0]
    by_warmth_kg_m3 = density_kell_1975(temperature_degc[-1]) - density_kell_1975(temperature_degc[0])
    return whole_kg_m3 > MIXED_BELOW_KG_M3 and by_warmth_kg_m3 < 0.5 * whole_kg_m3


def salt_layers(job: Job) -> bool:
    """Return whether salt more than warmth parts the water of the job's latest profile."""
    if job.latest_profile is None:
        return False
    lines = lines_of(job.latest_profile)
    return salt_holds(lines.temperature_degc, lines.density_kg_m3)


def salt_parts(result: Reading) -> bool:
    """Return whether salt more than warmth parts the water of a reading."""
    layers = result.layers
    return salt_holds([one.temperature_degc for one in layers], [one.density_kg_m3 for one in layers])


def salt_notices(result: Reading) -> tuple[Notice, ...]:
    """Return what salt changes: who holds the layers, and what of the chemistry is that of fresh water."""
    found = []
    if salt_parts(result):
        found.append(caution("salt-layered", SALT_LAYERED))
    if max(layer.salinity_g_kg for layer in result.layers) > BRACKISH_G_KG:
        found.append(
            note(
                "brackish",
                "The water is brackish. Hydrogen sulphide and un-ionised ammonia are counted as in fresh water, which "
                "makes them too high, sulphide by up to half: careful, not exact. The published criteria and the "
                "limits of the fish are for fresh water.",
            )
        )
    return tuple(found)
