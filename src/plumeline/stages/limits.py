"""What the fish in the pond can bear: the strictest of their rows in sources/refuge.csv."""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.job.document import Fish, LifeStage
from plumeline.notices import Notice, caution, note
from plumeline.sources import read_table

DEFAULT_SPECIES = "largemouth-bass"


@dataclass(frozen=True)
class RefugeLimits:
    """Limits of usable water; each is the strictest of the species present.

    Attributes:
        oxygen_mg_l: least oxygen.
        alarm_mg_l: oxygen at which to act.
        max_temperature_degc: warmest water.
        unionized_ammonia_mg_l: most un-ionised ammonia, as N.
        hydrogen_sulphide_mg_l: most undissociated sulphide, as H₂S.
        oxygen_species, temperature_species: whose limit binds, in words.
    """

    oxygen_mg_l: float
    alarm_mg_l: float
    max_temperature_degc: float
    unionized_ammonia_mg_l: float
    hydrogen_sulphide_mg_l: float
    oxygen_species: str
    temperature_species: str


def refuge_limits(fish: Fish) -> tuple[RefugeLimits, tuple[Notice, ...]]:
    """Return the strictest limits of the fish in the pond.

    Args:
        fish: species and most delicate stage

    Returns:
        the limits, and notices where a species is not in the table or none is given
    """
    notices: list[Notice] = []
    table = {entry["species"]: entry for entry in read_table("refuge")}
    found: list[dict[str, str]] = []
    for species in fish.species:
        entry = table.get(species)
        if entry is None:
            notices.append(
                caution(
                    "species-unknown",
                    f'No limits are known for "{species}"; those of largemouth bass stand in.',
                )
            )
            entry = table[DEFAULT_SPECIES]
        found.append(entry)
    if not found:
        found.append(table[DEFAULT_SPECIES])
        notices.append(note("species-not-given", "No fish named: the limits of largemouth bass stand in."))
    early = fish.stage is LifeStage.EARLY
    oxygen = "oxygen_early_mg_l" if early else "oxygen_mg_l"
    sulphide = "h2s_early_mg_l" if early else "h2s_mg_l"
    hungriest = max(found, key=lambda entry: float(entry[oxygen]))
    coolest = min(found, key=lambda entry: float(entry["max_temperature_degc"]))
    least = float(hungriest[oxygen])
    return (
        RefugeLimits(
            oxygen_mg_l=least,
            alarm_mg_l=max(max(float(entry["alarm_mg_l"]) for entry in found), least),
            max_temperature_degc=float(coolest["max_temperature_degc"]),
            unionized_ammonia_mg_l=min(float(entry["ammonia_mg_l"]) for entry in found),
            hydrogen_sulphide_mg_l=min(float(entry[sulphide]) for entry in found),
            oxygen_species=hungriest["words"],
            temperature_species=coolest["words"],
        ),
        tuple(notices),
    )
