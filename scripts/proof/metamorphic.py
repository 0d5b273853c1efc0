"""Metamorphic tests: what must not get better when a pond gets worse, on ten ponds."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from scripts.proof import metamorphic_held as held
from scripts.proof import metamorphic_replanned as again
from scripts.proof.made_ponds import TEN
from scripts.proof.pieces import Pieces

TITLE = "Metamorphic tests on ten ponds"
SEED = 5
HELD_MEMBERS, QUICK_HELD_MEMBERS = 64, 16
PLAN_MEMBERS, QUICK_PLAN_MEMBERS = 600, 64
QUICK_PONDS = (2, 6)
MUST = ("more debt", "more sulphide", "a cloudier week")


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """March every pond along the fixed schedule under each change, then plan anew."""
    pieces = Pieces(work / "pieces.jsonl")
    chosen = QUICK_PONDS if quick else range(len(TEN))
    for index in chosen:
        missing = [name for name in held.asked() if f"held {index} {name}" not in pieces]
        if missing:
            columns = held.ponds(TEN[index], QUICK_HELD_MEMBERS if quick else HELD_MEMBERS, SEED)
            for name in missing:
                pieces.add(f"held {index} {name}", held.compared(TEN[index], columns, name))
    members = QUICK_PLAN_MEMBERS if quick else PLAN_MEMBERS
    if not quick:
        _single(pieces, members)
    for index in () if quick else chosen:
        if f"first {index}" not in pieces:
            pieces.add(f"first {index}", again.told(TEN[index], members))
        for name in (*again.WORSE, *again.BETTER):
            if f"plan {index} {name}" not in pieces:
                found = again.replanned(TEN[index], pieces[f"first {index}"], name, members)
                pieces.add(f"plan {index} {name}", found)
    return gather(work)


def _single(pieces: Pieces, members: int) -> None:
    """Answer what one pond of its own answers."""
    if "isothermal" not in pieces:
        made = again.isothermal()
        found = again.plan(made, made.job(), members)
        pieces.add("isothermal", {"minutes": again.first_minutes(found), "risk": found.risk.risk})
    if "sulphide alone" not in pieces:
        minutes = {str(s): again.sulphide_alone(members, s) for s in (0.0, 3.0)}
        pieces.add("sulphide alone", {"minutes": minutes})
    if "threads" not in pieces:
        made = TEN[0]
        found = []
        for count in (1, 2):
            with again.threads(count):
                found.append(again.plan(made, made.job(), members))
        pieces.add("threads", {"alike": found[0] == found[1]})


def gather(work: Path) -> dict[str, Any]:
    """Return what is finished."""
    pieces = Pieces(work / "pieces.jsonl")
    if not len(pieces):
        return {}
    return {
        "held": [piece for piece in pieces if piece["key"].startswith("held")],
        "plans": [piece for piece in pieces if piece["key"].startswith("plan")],
        "single": {key: pieces[key] for key in ("isothermal", "sulphide alone", "threads") if key in pieces},
        "seeds": f"{SEED} (schedule held), {again.SEED} (plans)",
        "finished": f"{len(pieces)} pieces",
    }


def report(results: dict[str, Any]) -> str:
    """Return the page."""
    return "\n".join(
        [*_held(results["held"]), *_plans(results["plans"]), *_singles(results["single"])],
    )


def _held(pieces: list[dict[str, Any]]) -> list[str]:
    lines = [
        "## The schedule held fixed",
        "",
        "Doubling from 30 min over seven days, ponds of the priors. Per change, over all ponds: members whose "
        "refuge rose (its least over the week; its mean over the week; in any hour), and by how much at most.",
        "",
        "| change | ponds | members | least rose | mean rose | hours that rose | least rose by at most | mean fall |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for name in held.asked():
        rows = [piece for piece in pieces if piece["change"] == name]
        if not rows:
            continue
        most = max(row["least_rise_fraction"] for row in rows)
        fall = sum(row["mean_fall_fraction"] for row in rows) / len(rows)
        total = {key: sum(row[key] for row in rows) for key in rows[0] if isinstance(rows[0][key], int)}
        lines.append(
            f"| {name} | {len(rows)} | {total['members']} | {total['least_rose']} | {total['mean_rose']} | "
            f"{total['hours_rose']} of {total['hours']} | {100 * most:.1f} % | {100 * fall:.1f} % |"
        )
    return [*lines, "", *_why(pieces), ""]


def _why(pieces: list[dict[str, Any]]) -> list[str]:
    """Say which of the three never rose, and why the others did."""
    rose = {name: sum(p["least_rose"] for p in pieces if p["change"] == name) for name in held.asked()}
    lines = [
        f"- {name}: {'never rose in any member' if rose[name] == 0 else f'**rose in {rose[name]} members**'}."
        for name in MUST
    ]
    algae, debt = (name + held.LIFTED for name in reversed(held.JUDGED_ALONE))
    if rose["more debt"]:
        lines += [
            "",
            "More debt is not worse for every pond by every limit, for a reason of chemistry: what is oxidised gives "
            "carbon dioxide, pH falls, and less of the ammonia is un-ionised; algae that want for carbon also make a "
            f"little more oxygen. With ammonia's limit lifted the least refuge rose in {rose[debt]} members.",
        ]
    if rose["a cloudier week"]:
        lines += [
            "",
            "A cloudier week is not worse for every pond either: the sun that feeds the algae also warms the water. "
            "With the algae's light cut alone (I_K raised by as much, heat as before) and ammonia's limit lifted "
            "(algae that make less leave more carbon dioxide) the least refuge rose in "
            f"{rose[algae]} members. The rest is heat: cooler water holds more oxygen, water and bed breathe more "
            "slowly, and a weaker thermocline lets wind and night mix deeper. "
            "The claim holds by member for the light; for a real cloud in the mean of every pond.",
        ]
    hours = sum(p["hours_rose"] for p in pieces if p["change"] in (debt, algae, "more sulphide"))
    if hours:
        lines += [
            "",
            f"With those limits {hours} single hours rose: by the carbon that algae gain, and because a limited slope "
            "of second order does not keep the order of two solutions (Godunov 1959).",
        ]
    return lines


def _plans(pieces: list[dict[str, Any]]) -> list[str]:
    if not pieces:
        return []
    lines = [
        "## Planned anew",
        "",
        "Minutes of the first three days before and after, and how many steps of the grid they moved. Worse water may "
        "lengthen none of them by more than one step; more clean upper water may shorten none. The rule binds where "
        "both plans keep their promise; where one does not, the plan is the one of the fewest losses found, which in a "
        "pond that fails anyway may be to run at once: such pairs are shown and not judged.",
        "",
        "| pond | change | plans | lost | before | after | steps | rule |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for piece in pieces:
        shown = [", ".join(str(m) for m in piece[key]) for key in ("before", "after", "steps")]
        kept = ("holds" if piece["held"] else "**broken**") if piece["binds"] else "does not bind"
        lost = " → ".join(f"{100 * risk:.1f} %" for risk in piece["risks"])
        lines.append(
            f"| {piece['name']} | {piece['change']} | {' → '.join(piece['states'])} | {lost} | {shown[0]} | "
            f"{shown[1]} | {shown[2]} | {kept} |"
        )
    for names, words in ((again.WORSE, "worse"), (again.BETTER, "better")):
        rows = [piece for piece in pieces if piece["change"] in names and piece["binds"]]
        kept = sum(piece["held"] for piece in rows)
        lines += ["", f"Of {len(rows)} pairs made {words} in which the rule binds, it holds in {kept}."]
    return [*lines, ""]


def _singles(single: dict[str, Any]) -> list[str]:
    lines = ["## One pond each", ""]
    if "isothermal" in single:
        minutes = single["isothermal"]["minutes"]
        at_once = "at once, all day" if minutes[0] == 1440 else f"**not at once: {minutes}**"
        lines.append(f"- A mixed, clean October pond runs {at_once}.")
    if "sulphide alone" in single:
        clean, foul = (single["sulphide alone"]["minutes"][key] for key in ("0.0", "3.0"))
        shorter = "shorter" if sum(foul) < sum(clean) else "**not shorter**"
        lines.append(
            f"- Oxygen at 7 mg/L to the bottom: first days {clean} min without sulphide, {foul} min with 3 mg/L: "
            f"{shorter}."
        )
    if "threads" in single:
        lines.append(
            f"- One thread and two give {'the same plan' if single['threads']['alike'] else '**different plans**'}."
        )
    lines.append(
        "- Feet and metres: `tests/metamorphic/` compares the plans of two job folders byte by byte."
    )
    return lines
