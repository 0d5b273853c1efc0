"""Calibration: whether the stated risks come true, in ponds that are known to the last number.

Four hundred truths are drawn from the priors, run under weather of their own, and read by a meter that errs:
a first profile, a bottle, two visits. An ensemble is conditioned on those readings, and four fixed schedules are
scored on it without any search; so they are on the mutant, the same ponds held against nothing. The truth itself
says which schedule lost its refuge.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta
from scripts.proof.calibration_truths import AHEAD_D, Truth, truth_of
from scripts.proof.made_ponds import SCFM_MOL_S, steps_of
from scripts.proof.pieces import Pieces, seconds_left

from plumeline.kernels import column_index as ix
from plumeline.stages.column.case import case_of
from plumeline.stages.column.march import Columns, march
from plumeline.stages.column.members import LEAD_HOURS, draw_ensemble, prior_members
from plumeline.stages.column.past_air import PastAir

Array = NDArray[np.float64]

SEED = 90_210
TRUTHS, QUICK_TRUTHS = 400, 6
MEMBERS = 100
THICKNESS_M = 0.3
SCHEDULES: dict[str, tuple[int, ...]] = {
    "no air": (0,),
    "doubling from 60 min": (60, 120, 240, 480, 960, 1440),
    "4 h a day": (240,),
    "24 h from now": (1440,),
}
FIRST_RUN_H = 4  # after the last reading, at dawn: ten o'clock
RANKS_AT_H = 48  # after the last reading, without air
BINS = (0.0, 0.02, 0.1, 0.3, 0.6, 0.9, 1.0)
PLACES = ("temperature at the top", "temperature half way", "temperature at the bottom", "oxygen at the top",
          "oxygen half way", "oxygen at the bottom")  # fmt: skip
REPLICATES = 2000


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Run all truths, or a few, and keep each as it is finished."""
    pieces = Pieces(work / "truths.jsonl")
    for index in range(QUICK_TRUTHS if quick else TRUTHS):
        key = f"truth-{index}"
        if key not in pieces:
            if seconds_left() < 20.0:
                break
            pieces.add(key, one_truth(index))
    return gather(work)


def gather(work: Path) -> dict[str, Any]:
    """Return what is finished."""
    pieces = list(Pieces(work / "truths.jsonl"))
    return {
        "truths": pieces,
        "seeds": [SEED],
        "finished": f"{len(pieces)} of {TRUTHS} truths",
        "undone": TRUTHS - len(pieces),
    }


def one_truth(index: int) -> dict[str, Any]:
    """Return what one truth did and what the ensembles said of it."""
    truth = truth_of(index, SEED, THICKNESS_M)
    made, grid = truth.made, truth.columns.grid
    past = PastAir(
        np.array(made.disc_depth_m),
        np.full(made.discs, 1.3 * SCFM_MOL_S),
        tuple(f"D{n + 1}" for n in range(made.discs)),
    )
    horizon = 24 * AHEAD_D
    seed = 1000 + 17 * index
    told = draw_ensemble(truth.job, grid, made.limits(), MEMBERS, seed, horizon, past)
    case = case_of(truth.job, grid, made.limits(), horizon, past, LEAD_HOURS)
    mutant, _ = prior_members(case, MEMBERS, seed + 7)
    return {
        "index": index,
        "pond": made.name,
        "happened": _losses(truth, truth.columns)[0].tolist(),
        "told": _losses(truth, told.columns).mean(axis=0).tolist(),
        "mutant": _losses(truth, mutant).mean(axis=0).tolist(),
        "ranks": _ranks(truth, told.columns),
        "mutant_ranks": _ranks(truth, mutant),
        "effective_members": told.effective_members,
        "power": told.weight_power_fraction,
        "doubts": [doubt.code for doubt in told.doubts],
    }


def _losses(truth: Truth, columns: Columns) -> NDArray[np.bool_]:
    """Return which members lost their refuge in the days ahead, under each schedule (members, schedules)."""
    hours = columns.weather.shape[1]
    found = []
    for minutes in SCHEDULES.values():
        on = steps_of(hours, columns.hour + FIRST_RUN_H, minutes)
        air = truth.made.air(on & (np.arange(len(on)) >= columns.hour * ix.STEPS_EACH_HOUR))
        found.append(march(columns, air, hours).after.failed_step >= 0)
    return np.array(found).T


def _ranks(truth: Truth, columns: Columns) -> list[float]:
    """Return where the truth lies among the members two days ahead without air: 0 under all of them, 1 over all."""
    found = []
    own = _ahead(truth, truth.columns)[:, 0]
    generator = np.random.default_rng(int(1e6 * float(np.abs(own).sum())) % 2**31)
    for value, row in zip(own, _ahead(truth, columns), strict=True):
        below, same = int((row < value - 1e-9).sum()), int((np.abs(row - value) <= 1e-9).sum())
        found.append((below + generator.random() * (same + 1)) / (len(row) + 1))
    return [float(rank) for rank in found]


def _ahead(truth: Truth, columns: Columns) -> Array:
    """Return temperature and oxygen at three depths two days ahead (places, members)."""
    air = truth.made.air(np.zeros(columns.weather.shape[1] * ix.STEPS_EACH_HOUR, dtype=bool))
    state = march(columns, air, columns.hour + RANKS_AT_H).after.state
    layers = columns.grid.layers
    at = [1, layers // 2, layers - 2]
    return np.concatenate([state[ix.TEMPERATURE, at], state[ix.OXYGEN, at]])


def reliability(said: Array, happened: Array) -> list[dict[str, float]]:
    """Return, for each bin of the said risk, how often it happened, with a 95 % interval (Clopper & Pearson 1934).

    The schedules of one pond are lost or kept nearly together, so the interval is that of as many independent ponds
    as have a schedule in the bin.

    Args:
        said: risk (truths, schedules).
        happened: whether the refuge was lost (truths, schedules).
    """
    rows = []
    for low, high in pairwise(BINS):
        inside = (said >= low) & ((said < high) | (high == 1.0))
        count, losses, ponds = int(inside.sum()), int(happened[inside].sum()), int(inside.any(axis=1).sum())
        lost = ponds * losses / count if count else 0.0
        rows.append(
            {
                "low": low,
                "high": high,
                "count": count,
                "ponds": ponds,
                "said": float(said[inside].mean()) if count else float("nan"),
                "losses": losses,
                "lower": float(beta.ppf(0.025, lost, ponds - lost + 1)) if losses else 0.0,
                "upper": float(beta.ppf(0.975, lost + 1, ponds - lost)) if losses < count else 1.0,
            }
        )
    return rows


def brier_gain(truths: list[dict[str, Any]]) -> tuple[float, float, float, float, float]:
    """Return the Brier scores of ensemble and mutant, and how much the mutant is worse with its 95 % interval.

    The interval is from truths drawn again (bootstrap by truth: its four schedules go together).
    """
    happened, told, mutant = (
        np.array([t[name] for t in truths], float) for name in ("happened", "told", "mutant")
    )
    one = ((told - happened) ** 2).mean(axis=1)
    other = ((mutant - happened) ** 2).mean(axis=1)
    generator = np.random.default_rng(SEED)
    index = generator.integers(0, len(one), (REPLICATES, len(one)))
    low, high = np.quantile((other - one)[index].mean(axis=1), (0.025, 0.975))
    return float(one.mean()), float(other.mean()), float((other - one).mean()), float(low), float(high)


def report(results: dict[str, Any]) -> str:
    """Return the page of the study."""
    truths = results["truths"]
    if not truths:
        return "No truth is finished.\n"
    happened = np.array([t["happened"] for t in truths], float)
    told, mutant = (np.array([t[name] for t in truths], float) for name in ("told", "mutant"))
    lines = [
        f"{len(truths)} truths from the priors (seed {SEED}), six basins, each read four times and by a bottle; "
        f"{MEMBERS} members, layers of {THICKNESS_M} m, {AHEAD_D} days ahead, four fixed schedules.",
        "",
        "The truths are ponds of the model's own kind: this shows that the conditioning is sound, not that the model "
        "is (for that see robustness and real water). Few of these ponds lie where plans are accepted, at 2 and 5 %: "
        "the low bins say the least. Intervals count ponds, not schedules.",
        "",
        "## Reliability: what was said and what happened",
        "",
        "| said risk | ponds and schedules | ponds | mean said | lost | 95 % of the loss rate |",
        "|---|---|---|---|---|---|",
    ]
    lines += [_bin(r) for r in reliability(told, happened)]
    lines += ["", "The mutant that ignores the readings:", "", *lines[6:8]]
    lines += [_bin(r) for r in reliability(mutant, happened)]
    lines += ["", *_sharpness(truths, told, mutant, happened), "", *_rank_lines(truths)]
    power = np.array([t["power"] for t in truths])
    lines += [
        "",
        f"Power of the last weights: median {np.median(power):.2f}, least {power.min():.2f} (1 is the whole "
        f"likelihood). {sum(bool(t['doubts']) for t in truths)} of {len(truths)} truths had a reading doubted.",
    ]
    return "\n".join(lines) + "\n"


def _bin(row: dict[str, Any]) -> str:
    """Return one line of a reliability table; a bin that nobody said has no mean and no losses."""
    span = f"{row['low']:.0%}–{row['high']:.0%}"
    if not row["count"]:
        return f"| {span} | 0 | 0 | – | – | – |"
    said = f"{row['count']} | {row['ponds']} | {row['said']:.1%} | {row['losses']}"
    return f"| {span} | {said} | {row['lower']:.1%}–{row['upper']:.1%} |"


def _sharpness(truths: list[dict[str, Any]], told: Array, mutant: Array, happened: Array) -> list[str]:
    one, other, gain, low, high = brier_gain(truths)
    rows = [
        "## Sharpness: how far the readings narrowed the risk",
        "",
        f"Brier score {one:.4f} with the readings, {other:.4f} without; the mutant is worse by {gain:.4f} "
        f"(95 % {low:.4f} to {high:.4f}, truths drawn again).",
        "",
        "| schedule | lost | mean said | said within 5 % of 0 or 1 | without readings: mean said | within 5 % |",
        "|---|---|---|---|---|---|",
    ]
    for k, name in enumerate(SCHEDULES):
        sure, before = (((x[:, k] < 0.05) | (x[:, k] > 0.95)).mean() for x in (told, mutant))
        rows.append(
            f"| {name} | {happened[:, k].mean():.1%} | {told[:, k].mean():.1%} | {sure:.0%} | "
            f"{mutant[:, k].mean():.1%} | {before:.0%} |"
        )
    return rows


def _rank_lines(truths: list[dict[str, Any]]) -> list[str]:
    ranks, mutants = (np.array([t[name] for t in truths]) for name in ("ranks", "mutant_ranks"))
    rows = [
        f"## Ranks of the truth among the members, {RANKS_AT_H} h ahead without air",
        "",
        "Share of truths in each fifth of the ranks (20 % each when calibrated), and in the middle 90 %.",
        "",
        "| | 1st | 2nd | 3rd | 4th | 5th | middle 90 % | without readings |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for k, place in enumerate(PLACES):
        shares = np.histogram(ranks[:, k], bins=5, range=(0.0, 1.0))[0] / len(ranks)
        inside, before = (((x[:, k] > 0.05) & (x[:, k] < 0.95)).mean() for x in (ranks, mutants))
        cells = " | ".join(f"{share:.0%}" for share in shares)
        rows.append(f"| {place} | {cells} | {inside:.0%} | {before:.0%} |")
    return rows
