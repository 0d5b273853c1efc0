"""Numbers: budgets, order of convergence, how many ponds a risk needs, and what the risk turns on."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from scripts.proof import numbers_budget, numbers_order, numbers_risk
from scripts.proof.pieces import Pieces, seconds_left

TITLE = "Numbers: budgets, convergence, ensemble size, what the risk turns on"
BUDGET_PONDS, QUICK_BUDGET_PONDS = 200, 12
SIZE_PONDS, QUICK_SIZE_PONDS = (2, 4, 6), (2,)
SIZE_MEMBERS, QUICK_SIZE_MEMBERS = 8192, 512
TURN_PONDS, QUICK_TURN_PONDS = (2, 4, 6, 9), ()
TURN_MEMBERS = 400
HELD = 10
ROUND_OFF = 1e-9


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Work through the four questions, piece by piece."""
    pieces = Pieces(work / "pieces.jsonl")
    for seed in range(QUICK_BUDGET_PONDS if quick else BUDGET_PONDS):
        key = f"budget {seed}"
        if key not in pieces:
            pieces.add(key, numbers_budget.budgets(seed))
    if "layers" not in pieces:
        pieces.add("layers", {"rows": numbers_order.by_layers(quick)})
    for index in QUICK_SIZE_PONDS if quick else SIZE_PONDS:
        if f"size {index}" not in pieces:
            members = QUICK_SIZE_MEMBERS if quick else SIZE_MEMBERS
            pieces.add(f"size {index}", numbers_risk.by_size(index, members))
    for index in QUICK_TURN_PONDS if quick else TURN_PONDS:
        _turn(pieces, index)
    if not quick:
        for steps in numbers_order.STEPS_EACH_HOUR:
            # another step of time wants all kernels compiled again
            if seconds_left() > 90.0:
                numbers_order.of_step(steps, work)
    return gather(work)


def _turn(pieces: Pieces, index: int) -> None:
    """Find what the risk of one pond turns on: rank all factors, then hold the first of them low and high."""
    made = numbers_risk.TEN[index]
    key = f"turn {index}"
    wanted = [f"{key} held {place}" for place in range(HELD)]
    if key in pieces and all(one in pieces for one in wanted):
        return
    columns = numbers_risk.conditioned(index, TURN_MEMBERS)
    if key not in pieces:
        found = numbers_risk.outcome(columns, made, numbers_risk.first_run_hour(columns))
        rows = numbers_risk.ranked(columns, found)
        told = {"name": made.name, "members": columns.members, "risk": float(found.lost.mean()), "rows": rows}
        pieces.add(key, told)
    for place, one in enumerate(wanted):
        if one not in pieces:
            name = pieces[key]["rows"][place]["factor"]
            pieces.add(one, numbers_risk.held(columns, made, name))


def gather(work: Path) -> dict[str, Any]:
    """Return what is finished."""
    pieces = Pieces(work / "pieces.jsonl")
    if not len(pieces):
        return {}
    turns = []
    for piece in pieces:
        if piece["key"].startswith("turn") and "held" not in piece["key"]:
            held = [p for p in pieces if p["key"].startswith(f"{piece['key']} held")]
            turns.append({**piece, "held": held})
    budgets = [piece for piece in pieces if piece["key"].startswith("budget")]
    return {
        "budgets": [piece["out"] for piece in budgets],
        "layers": pieces["layers"]["rows"] if "layers" in pieces else [],
        "steps": numbers_order.by_steps(work),
        "sizes": [piece for piece in pieces if piece["key"].startswith("size")],
        "turns": turns,
        "seeds": f"0 to {len(budgets) - 1} (budgets), 1 (convergence), {numbers_risk.SEED} (risk)",
        "finished": f"{len(pieces)} pieces, {len(numbers_order.by_steps(work)) + 1} steps of time",
    }


def report(results: dict[str, Any]) -> str:
    """Return the page."""
    lines = _budgets(results["budgets"])
    lines += _convergence(results["layers"], results["steps"])
    lines += _sizes(results["sizes"])
    for turn in results["turns"]:
        lines += _turns(turn)
    if results["turns"]:
        lines += _first(results["turns"])
    return "\n".join(lines)


def _budgets(budgets: list[dict[str, float]]) -> list[str]:
    count = len(budgets)
    lines = [
        "## Budgets",
        "",
        f"{count} random ponds (0.1 to 20 acres, 5 to 25 ft, March to November, 1 to 5 discs on and off by the "
        f"hour), {numbers_budget.MEMBERS} members each, {numbers_budget.HOURS} h: gain of the state less what the "
        "books say, over what was held and turned round; the worst member of the worst pond. Volume: how far a salt "
        "that was alike everywhere drifts apart.",
        "",
        "| budget | worst | middle |",
        "|---|---|---|",
    ]
    for name in budgets[0] if budgets else ():
        values = [one[name] for one in budgets]
        lines.append(f"| {name} | {max(values):.1e} | {np.median(values):.1e} |")
    worst = max((max(one.values()) for one in budgets), default=0.0)
    verdict = "all close to round-off" if worst < ROUND_OFF else "NOT all close to round-off"
    return [*lines, "", f"Worst of all: {worst:.1e}: {verdict} (goal: under {ROUND_OFF:g}).", ""]


def _convergence(layers: list[dict[str, Any]], steps: list[dict[str, Any]]) -> list[str]:
    lines = [
        "## Order of convergence",
        "",
        f"A step of 11 K and 7.9 mg/L at {numbers_order.STEP_AT_M} m in one acre and 12 ft, two discs on for "
        f"{numbers_order.HOURS} h; distance between a run and the one twice as fine, by volume, mean of "
        f"{numbers_order.MEMBERS} members. A jump that is carried and smeared can't converge faster than first order "
        "in this measure.",
        "",
        "| from | to | temperature, K | order | oxygen, mg/L | order |",
        "|---|---|---|---|---|---|",
    ]
    for rows, unit in ((layers, "layers"), (steps, "s")):
        found = [None, *numbers_order.orders(rows)] if rows else []
        for row, order in zip(rows, found, strict=True):
            coarse, fine = (
                row[k] for k in (("coarse", "fine") if unit == "layers" else ("coarse_s", "fine_s"))
            )
            warm, oxygen = ("–", "–") if order is None else (f"{v:.2f}" for v in order.values())
            lines.append(
                f"| {coarse} {unit} | {fine} {unit} | {row['temperature_k']:.4f} | {warm} | "
                f"{row['oxygen_mg_l']:.4f} | {oxygen} |"
            )
    if not steps:
        lines += ["", "The step of time was not varied here: each needs all kernels compiled again."]
    return [*lines, ""]


def _sizes(sizes: list[dict[str, Any]]) -> list[str]:
    lines = [
        "## How many ponds a risk needs",
        "",
        "Doubling from 30 min held fixed, seven days, ponds of the priors; the spread of the risk between ensembles "
        "with seeds of their own beside that of the binomial law. Under it, a Latin hypercube is worth more ponds.",
        "",
        "| pond | members | ensembles | risk | spread | binomial | worth so many ponds |",
        "|---|---|---|---|---|---|---|",
    ]
    for piece in sizes:
        for row in piece["rows"]:
            worth = (row["binomial"] / row["spread"]) ** 2 if row["spread"] > 0.0 else float("nan")
            lines.append(
                f"| {piece['name']} | {row['members']} | {row['blocks']} | {100 * row['risk']:.1f} % | "
                f"{100 * row['spread']:.2f} % | {100 * row['binomial']:.2f} % | {worth:.1f} each |"
            )
    return [*lines, ""]


def _turns(turn: dict[str, Any]) -> list[str]:
    lines = [
        f"## What the risk turns on: {turn['name']}",
        "",
        f"{turn['members']} conditioned ponds, doubling from 30 min held fixed: {100 * turn['risk']:.0f} % lost their "
        "refuge. Rank correlation with the least refuge, part of the losses explained, and the risk with the factor at "
        "its 10 % and 90 % point in every pond, all else as drawn (common random numbers).",
        "",
        "| factor | rank correlation | explains | risk, low | risk, high |",
        "|---|---|---|---|---|",
    ]
    held = {piece["factor"]: piece for piece in turn["held"]}
    for row in turn["rows"][:HELD]:
        ends = held.get(row["factor"])
        low, high = (
            ("–", "–") if ends is None else (f"{100 * ends[k]:.0f} %" for k in ("low_risk", "high_risk"))
        )
        lines.append(
            f"| {row['factor']} | {row['correlation']:+.2f} | {100 * row['explained']:.0f} % | {low} | {high} |"
        )
    return [*lines, ""]


def _first(turns: list[dict[str, Any]]) -> list[str]:
    """Say what comes first over all ponds, and how it is measured."""
    swing: dict[str, list[float]] = {}
    for turn in turns:
        for piece in turn["held"]:
            swing.setdefault(piece["factor"], []).append(abs(piece["high_risk"] - piece["low_risk"]))
    order = sorted(swing, key=lambda name: -float(np.sum(swing[name])))
    said = ", ".join(f"{name} ({100 * np.sum(swing[name]) / len(turns):.0f} points)" for name in order[:6])
    measured = [name for name in order if MEASURED.get(name)]
    first = "; ".join(f"{MEASURED[name]} for {name}" for name in measured[:4])
    return [
        "## What should be measured first",
        "",
        f"Swing of the risk between the low and the high end, mean over the ponds: {said}. Of these a person with a "
        f"boat can measure: {first or 'none'}.",
    ]


MEASURED = {
    "water: sulphide below": "a field kit for sulphide on bottom water",
    "water: slow debt below": "the 24 h bottle",
    "water: iron debt below": "the 15 min bottle",
    "water: ammonia below": "a field kit for ammonia on bottom water",
    "water: inorganic carbon below": "pH and alkalinity at the bottom",
    "water: pH on top (carbon)": "pH at the surface",
    "water: oxygen on top": "oxygen at dawn with a calibrated meter",
    "water: warmth on top": "a second thermometer",
    "water: chlorophyll below": "Secchi depth, or chlorophyll",
    "rate: respiration": "oxygen at dusk and dawn",
    "rate: k600 calm": "oxygen at dusk and dawn",
    "rate: chlorophyll 0": "Secchi depth, or chlorophyll",
    "rate: alpha": "the width of the boil",
    "rate: source radius": "the width of the boil",
    "rate: sediment": "oxygen of bottom water on two days",
    "weather: wind": "the forecast, and a vane at the pond",
    "weather: warmth": "the forecast",
    "weather: sun": "the forecast",
}
