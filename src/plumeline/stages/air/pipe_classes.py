"""What a pipe in the ground may be: the kinds of the tables, and what the print line on its wall leaves of them."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from dataclasses import dataclass, replace
from functools import cache

from plumeline.errors import InputError
from plumeline.sources import read_table

UNKNOWN_BORES_M = (0.68 * 0.0254, 0.89 * 0.0254)
"""What is sold as 3/4 in, of a kind nobody knows."""
UNKNOWN, OTHER = "unknown-3/4", "none-of-these"
LEAST_BORE_M, MOST_BORE_M = 0.1 * 0.0254, 2.5 * 0.0254


@dataclass(frozen=True)
class BoreClass:
    """One kind of pipe that the old one may be."""

    name: str
    words: str
    bore_m: float
    low_bore_m: float
    high_bore_m: float
    """The bores it spans: one value, but for a pipe of unknown kind."""
    material: str
    nominal: str
    rating_pa: float | None
    """Least rating for water at 73 °F among the pipes of this bore; None where none is known."""
    roughness_m: float
    probability: float
    """After the test; before it where none was made."""


@cache
def known_classes() -> tuple[BoreClass, ...]:
    """Return the kinds of pipe of the tables, pipes of one bore in one, with their probability beforehand."""
    standards = read_table("buried_pipes")
    groups: dict[tuple[str, str, str], list[dict[str, str]]] = defaultdict(list)
    for row in read_table("pipes"):
        home = next((item["standard"] for item in standards if _belongs(row, item["standard"])), "")
        if home:
            groups[home, row["nominal"], row["bore_m"]].append(row)
    sizes: dict[str, int] = defaultdict(int)
    for home, _, _ in groups:
        sizes[home] += 1
    share = {row["standard"]: float(row["prior_weight_share"]) for row in standards}
    words = {row["standard"]: row["words"] for row in standards}
    found = [_class(rows, words[home], share[home] / sizes[home]) for (home, _, _), rows in groups.items()]
    low, high = UNKNOWN_BORES_M
    plain = replace(found[0], material="unknown", rating_pa=None, roughness_m=1.5e-6)
    last = list(share)[-2:]
    found.append(
        replace(
            plain,
            name=UNKNOWN, words=words[last[0]], nominal="3/4 in", bore_m=0.5 * (low + high), low_bore_m=low,
            high_bore_m=high, probability=share[last[0]],
        )
    )  # fmt: skip
    found.append(
        replace(
            plain,
            name=OTHER, words=words[last[1]], nominal="", bore_m=math.sqrt(LEAST_BORE_M * MOST_BORE_M),
            low_bore_m=LEAST_BORE_M, high_bore_m=MOST_BORE_M, probability=share[last[1]],
        )
    )  # fmt: skip
    total = sum(item.probability for item in found)
    return tuple(replace(item, probability=item.probability / total) for item in found)


def _belongs(row: dict[str, str], standard: str) -> bool:
    """Return whether a pipe of the table is of a standard, or of a material where no standard rules it."""
    return row["standard"].startswith(standard) or row["material"] == standard


def _class(rows: list[dict[str, str]], words: str, probability: float) -> BoreClass:
    row = rows[0]
    ratings = [float(item["rating_pa"]) for item in rows if item["rating_pa"]]
    bore_m = float(row["bore_m"])
    return BoreClass(
        name=row["name"],
        words=f"{row['nominal']} {words}",
        bore_m=bore_m,
        low_bore_m=bore_m,
        high_bore_m=bore_m,
        material=row["material"],
        nominal=row["nominal"],
        rating_pa=min(ratings) if ratings else None,
        roughness_m=float(row["roughness_m"]),
        probability=probability,
    )


def believed_classes(nominal: str = "", material: str = "") -> tuple[BoreClass, ...]:
    """Return the kinds of pipe before a test, those that disagree with what is known left out.

    Args:
        nominal: its trade size where that is known, "3/4 in".
        material: its material where that is known, a word of the table of materials.

    Raises:
        InputError: no pipe of the table agrees.
    """
    left = [
        item
        for item in known_classes()
        if item.name == OTHER
        or (
            (not nominal or item.nominal == nominal)
            and (not material or item.material in (material, "unknown"))
        )
    ]
    if not any(item.name not in (OTHER, UNKNOWN) for item in left):
        known = sorted({item.nominal for item in known_classes() if item.nominal})
        raise InputError(
            f"the table of pipes has no {material} pipe of {nominal or 'any size'}.",
            remedy=f"Sizes are {', '.join(known)}; leave size or material open where they are not sure.",
            place="air.old_pipe",
        )
    total = sum(item.probability for item in left)
    return tuple(replace(item, probability=item.probability / total) for item in left)


_SIZE = re.compile(r"(?<![\d./-])(\d+\s*-\s*\d/\d|\d+\s+\d/\d|\d/\d|\d)\s*(?:\"|IN(?:CH)?\b|IPS\b|CTS\b|NOM)")
_STANDARD = re.compile(r"\b(D\s?\d{4}|B\s?88)\b")
_RATIO = re.compile(r"\b(SIDR|SDR|DR)\s*-?\s*(\d+(?:\.\d)?)")
_SCHEDULE = re.compile(r"\bSCH(?:EDULE|ED)?\.?\s*-?\s*(40|80)\b")
_MATERIALS = (
    ("pvc", r"\bPVC"),
    ("polyethylene", r"\b(?:HD|LD|MD)?PE(?:\d|\b)|POLYETHYLENE"),
    ("copper", r"\bCOPPER|B\s?88"),
)


def read_print_line(text: str) -> tuple[str, ...]:
    """Return the names of the pipes that agree with what stands on a pipe's wall; all sizes stand in `pipes.csv`.

    Trade size, standard, schedule or diameter ratio and material are looked for; what is not there rules nothing
    out. None agree where the line names a pipe that the table lacks, or says nothing of the size.
    """
    upper = " ".join(text.upper().replace("”", '"').replace("''", '"').split())
    size = _SIZE.search(upper)
    if not size:
        return ()
    nominal = re.sub(r"\s*-\s*|\s+", "-", size[1]) + " in"
    standard = _STANDARD.search(upper)
    ratio, schedule = _RATIO.search(upper), _SCHEDULE.search(upper)
    material = next((name for name, words in _MATERIALS if re.search(words, upper)), "")
    found = []
    for row in read_table("pipes"):
        tells = row["standard"].upper()
        if row["nominal"] != nominal or (material and row["material"] != material):
            continue
        if standard and standard[1].replace(" ", "") not in tells:
            continue
        if schedule and f"SCHEDULE {schedule[1]}" not in tells:
            continue
        kind = "SIDR" if ratio and ratio[1] == "SIDR" else "S?DR"
        if ratio and not re.search(rf"\b{kind} {re.escape(ratio[2])}\b", tells):
            continue
        if "CTS" in upper and "COPPER TUBE" not in tells:
            continue
        found.append(row["name"])
    return tuple(found)


def classes_of(names: tuple[str, ...]) -> tuple[BoreClass, ...]:
    """Return the kinds that hold the named pipes, with their probability before a test.

    One kind where one bore is left; with several, what fits none of them stays possible.
    """
    bores = {row["name"]: row for row in read_table("pipes")}
    wanted = {(bores[name]["material"], float(bores[name]["bore_m"])) for name in names}
    left = [item for item in known_classes() if (item.material, item.bore_m) in wanted]
    if len(left) == 1:
        return (replace(left[0], rating_pa=_least_rating(names, bores), probability=1.0),)
    left += [item for item in known_classes() if item.name == OTHER]
    total = sum(item.probability for item in left)
    return tuple(replace(item, probability=item.probability / total) for item in left)


def _least_rating(names: tuple[str, ...], rows: dict[str, dict[str, str]]) -> float | None:
    ratings = [float(rows[name]["rating_pa"]) for name in names if rows[name]["rating_pa"]]
    return min(ratings) if ratings else None
