"""Species as people write them, to the names of sources/refuge.csv."""

from __future__ import annotations

import csv
from functools import cache
from importlib import resources

from plumeline.files.findings import Findings, near
from plumeline.files.observations import slug
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import Fish
from plumeline.stages.limits import DEFAULT_SPECIES


@cache
def species_names() -> dict[str, str]:
    """Return the name of each species by its name and by its words, both as slugs."""
    text = resources.files("plumeline.sources").joinpath("refuge.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    return {slug(row[column]): row["species"] for column in ("words", "species") for row in rows}


def _likely(written: str, known: dict[str, str]) -> str:
    """Return the species whose name is most like a word, or has it as one of its words; empty for none or several."""
    close = near(written, known)
    if close:
        return known[close]
    words = set(written.split("-"))
    holding = {species for name, species in known.items() if words & set(name.split("-"))}
    return holding.pop() if len(holding) == 1 else ""


def known_species(fish: Fish, findings: Findings) -> Fish:
    """Return the fish with species named as in the table; a caution for one that is not in it."""
    known = species_names()
    found = []
    for written in fish.species:
        name = known.get(slug(written))
        if name is None:
            close = _likely(slug(written), known)
            hint = f'Did you mean "{close}"? ' if close else ""
            findings.caution(
                "species-unknown",
                f"{JOB_FILE}, fish.species: no limits are known for {written!r}; those of "
                f"{DEFAULT_SPECIES.replace('-', ' ')} stand in. {hint}"
                f"Known: {', '.join(sorted(set(known.values())))}.",
            )
        found.append(name or written)
    return fish.model_copy(update={"species": tuple(found)})
