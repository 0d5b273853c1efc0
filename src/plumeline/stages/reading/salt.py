"""What salt does to a pond: it layers water that warmth leaves alike, and leaves some of the chemistry in doubt."""

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


def of_salt_kg_m3(temperature_degc: Sequence[float], density_kg_m3: Sequence[float]) -> tuple[float, float]:
    """Return by how much the bottom water is heavier than the top, and how much of that salt alone would make.

    Args:
        temperature_degc: from the top down, shape (k,)
        density_kg_m3: shape (k,)
    """
    whole_kg_m3 = density_kg_m3[-1] - density_kg_m3[0]
    by_warmth_kg_m3 = density_kell_1975(temperature_degc[-1]) - density_kell_1975(temperature_degc[0])
    return whole_kg_m3, whole_kg_m3 - by_warmth_kg_m3


def salt_holds(temperature_degc: Sequence[float], density_kg_m3: Sequence[float]) -> bool:
    """Return whether more of the growth of density from top to bottom is salt's than warmth's.

    Args:
        temperature_degc: from the top down, shape (k,)
        density_kg_m3: shape (k,)
    """
    whole_kg_m3, by_salt_kg_m3 = of_salt_kg_m3(temperature_degc, density_kg_m3)
    return whole_kg_m3 > MIXED_BELOW_KG_M3 and by_salt_kg_m3 > 0.5 * whole_kg_m3


def salt_stays(temperature_degc: Sequence[float], density_kg_m3: Sequence[float]) -> bool:
    """Return whether salt goes on parting the water when cool weather has taken warmth's part away; args as above."""
    whole_kg_m3, by_salt_kg_m3 = of_salt_kg_m3(temperature_degc, density_kg_m3)
    return min(whole_kg_m3, by_salt_kg_m3) > MIXED_BELOW_KG_M3


def salt_words(temperature_degc: Sequence[float], density_kg_m3: Sequence[float]) -> str:
    """Return what to know of water that salt goes on parting, with salt's share; args as above."""
    whole_kg_m3, by_salt_kg_m3 = of_salt_kg_m3(temperature_degc, density_kg_m3)
    share = min(by_salt_kg_m3 / whole_kg_m3, 1.0)
    return (
        f"Salt holds these layers: saltier water lies under fresher, and {share:.0%} of what makes the bottom water "
        "heavier than the top is salt, the rest is warmth. Wind and cool nights take away the part of warmth alone: "
        "they do not turn such a pond over, and it can hold foul bottom water for years. A thermometer does not show "
        "it, nor when air has mixed it: read conductivity at every depth at each visit."
    )


def salt_layers(job: Job) -> str | None:
    """Return what to know where salt goes on parting the water of the job's latest profile; None where it does not."""
    if job.latest_profile is None:
        return None
    lines = lines_of(job.latest_profile)
    if not salt_stays(lines.temperature_degc, lines.density_kg_m3):
        return None
    return salt_words(lines.temperature_degc, lines.density_kg_m3)


def salt_parts(result: Reading) -> bool:
    """Return whether salt more than warmth parts the water of a reading."""
    layers = result.layers
    return salt_holds([one.temperature_degc for one in layers], [one.density_kg_m3 for one in layers])


def salt_notices(result: Reading) -> tuple[Notice, ...]:
    """Return what salt changes: who holds the layers, and what of the chemistry it leaves in doubt."""
    found = []
    columns = [one.temperature_degc for one in result.layers], [one.density_kg_m3 for one in result.layers]
    if salt_stays(*columns):
        found.append(caution("salt-layered", salt_words(*columns)))
    if max(layer.salinity_g_kg for layer in result.layers) > BRACKISH_G_KG:
        found.append(
            note(
                "brackish",
                "The water is brackish. Hydrogen sulphide and un-ionised ammonia are counted with its salt. A pH meter "
                "set with the usual buffers reads a little over a tenth high in salt water, which hides up to a third "
                "of the hydrogen sulphide; the pH of a mixture is worked out as in fresh water. The published criteria "
                "and the limits of the fish are for fresh water.",
            )
        )
    return tuple(found)
