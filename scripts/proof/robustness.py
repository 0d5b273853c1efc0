"""Does the plan hold on ponds that are another model's? Arms with one clock, crew, readings and stop rule.

120 truths of tests/truth/ over six ponds and three kinds of weather are surveyed through a biased meter; the planner
plans on those readings (100 simulated ponds, at most 12 candidates) and is asked again on the visits of days 2, 4
and 7. What becomes of each truth under the plan, the trade's customs, nothing, and an oracle is compared, pond by
pond.
"""

from __future__ import annotations

import json
import os
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from scripts.proof.pieces import Pieces, seconds_left

TITLE = "Robustness: the plan on a foreign model's ponds"
TRUTHS = 120
TRUTHS_NOW = int(os.environ.get("PROOF_TRUTHS", str(TRUTHS)))
MEMBERS = int(os.environ.get("PROOF_MEMBERS", "100"))
"""A smaller run for a look: fewer truths, training truths and members; the page says how many it was."""
TRUTHS_QUICK = 2
TRAINING = int(os.environ.get("PROOF_TRAINING", "18"))
SEED = 20_000
TRAINING_SEED = 70_000
REPLAN_DAYS = (2, 4, 7)
FULL_ON = (0, 1, 2, 3, 4, 5, 7, 9, 14, 16)
"""Truths on which the planner with all its candidates and members is asked as well."""
QUICK_MEMBERS = 16


def kind_and_weather(index: int) -> tuple[Any, str]:
    """Return pond and weather of a truth: any first so many are spread over all of them."""
    from tests.truth.pond import KINDS
    from tests.truth.weather import REGIMES

    return KINDS[index % 6], REGIMES[(index // 6) % 3]


def truth_of(index: int, seed: int) -> tuple[Any, Any]:
    """Return a living pond, at the midnight before its survey, and the fish's limits."""
    from scripts.proof.planned import refuge_limits
    from tests.truth.pond import ACRE_M2, DIFFUSER_UP_M, FOOT_M, make_pond

    kind, weather = kind_and_weather(index)
    discs = kind.deep_discs + kind.middle_discs
    limits = refuge_limits(kind.acres * ACRE_M2, (kind.depth_ft * FOOT_M - DIFFUSER_UP_M,) * discs)
    return make_pond(kind, weather, seed + index, limits), limits


def became(field: Any) -> dict[str, Any]:
    """Return what became of a pond, as plain values."""
    done = field.complete_hour >= 0
    failed = int(field.pond.tally[1])
    return {
        "lost": bool(field.lost),
        "cause": int(field.pond.tally[2]) if field.lost else 0,
        "lost_day": (failed // 12 - field.first_hour) / 24.0 if field.lost else None,
        "days": (field.complete_hour - field.first_hour) / 24.0 if done else None,
        "never": not done,
        "visits": field.visits + 1,  # the last one proves that it is done
        "running_h": field.running_h,
        "held": field.held,
    }


def train(index: int) -> dict[str, Any]:
    """Return what became of one training truth under every fixed factor."""
    from scripts.proof.crew import carry_out
    from scripts.proof.customs import FIXED, by_hand, ladder

    pond, limits = truth_of(index, TRAINING_SEED)
    seed = TRAINING_SEED + index
    found = {
        f"{first}x{factor:g}": became(carry_out(pond, seed, limits[0], by_hand("", ladder(first, factor))))
        for first, factor in FIXED
    }
    return {"factors": found}


def best_factor(pieces: Pieces) -> tuple[int, float]:
    """Return first dose and factor with the fewest losses, then visits, then days, on the training truths."""
    trained = [piece["factors"] for piece in pieces if piece["key"].startswith("train")]
    if not trained:
        return 60, 2.0

    def cost(name: str) -> tuple[float, float, float]:
        rows = [piece[name] for piece in trained]
        days = sum(row["days"] if row["days"] is not None else 21.0 for row in rows)
        return sum(row["lost"] for row in rows), sum(row["visits"] for row in rows), days

    name = min(trained[0], key=cost)
    first, factor = name.split("x")
    return int(first), float(factor)


def oracle(pond: Any, seed: int, limit_mg_l: float) -> dict[str, Any]:
    """Return the cheapest of a set that keeps the refuge in this very pond, and nothing if none does."""
    from scripts.proof.crew import carry_out
    from scripts.proof.customs import NOTHING, oracle_set

    finished: list[dict[str, Any]] = []
    for orders in oracle_set():
        found = became(carry_out(pond, seed, limit_mg_l, orders))
        if not found["lost"] and found["days"] is not None:
            finished.append({**found, "name": orders.name})
            if found["visits"] <= 3:
                break
    if finished:
        return min(finished, key=lambda row: (row["visits"], row["days"]))
    return {**became(carry_out(pond, seed, limit_mg_l, NOTHING)), "name": "do nothing"}


def one_truth(index: int, factor: tuple[int, float], quick: bool) -> dict[str, Any]:
    """Return what became of one truth in every arm."""
    from scripts.proof.crew import Field, Orders, carry_out
    from scripts.proof.customs import NOTHING, at_once, by_hand, doubling, ladder
    from scripts.proof.planned import plan, survey_of, without_own_stops

    pond, limits = truth_of(index, SEED)
    seed, limit_mg_l = SEED + index, float(limits[0])
    survey = survey_of(pond, seed, limit_mg_l)
    size = {"members": QUICK_MEMBERS, "candidates": 4} if quick else {"members": MEMBERS}
    first = plan(survey, None, **size)
    asked: list[dict[str, Any]] = []

    def replan(field: Field, day: int) -> Orders | None:
        again = plan(survey, field, **size)
        asked.append({"day": day, **again.told})
        return without_own_stops(again.orders)

    def arm(orders: Orders, **more: Any) -> dict[str, Any]:
        return became(carry_out(pond, seed, limit_mg_l, orders, **more))

    common = without_own_stops(first.orders)
    days = REPLAN_DAYS[:1] if quick else REPLAN_DAYS
    arms = {
        "plan, open loop": arm(common),
        "plan, open loop, own stop readings": arm(first.orders),
        "plan, with visits": arm(common, replan=replan, replan_days=days),
        **{
            f"doubling from {m} min, {'gated' if gated else 'ungated'}": arm(doubling(m, gated=gated))
            for m in (15, 30)
            for gated in (False, True)
        },
        "best fixed factor": arm(by_hand("", ladder(*factor))),
        "24 h from day 1": arm(at_once()),
        "do nothing": arm(NOTHING),
        "oracle": oracle(pond, seed, limit_mg_l),
    }
    # nobody comes to a pond that nothing is done to, not even to prove it
    arms["do nothing"]["visits"] = 0
    told = {"first": {**first.told, "no_start": first.orders.no_start}, "again": asked}
    if index in FULL_ON and not quick and TRUTHS_NOW == TRUTHS:
        full = plan(survey, None, full=True)
        arms["full planner, open loop"] = arm(without_own_stops(replace(full.orders)))
        told["full"] = {**full.told, "no_start": full.orders.no_start}
    kind, weather = kind_and_weather(index)
    return {
        "pond": kind.name,
        "weather": weather,
        "arms": arms,
        "told": told,
        "sulphide": survey.sulphide_mg_l,
        "members": QUICK_MEMBERS if quick else MEMBERS,
    }


def _gathered(pieces: Pieces, jobs: list[tuple[str, Any]]) -> None:
    """Work through jobs on two processes, keeping each result as it comes, while there is time."""
    waiting = [job for job in jobs if job[0] not in pieces]
    if not waiting:
        return
    workers = min(2, os.cpu_count() or 1, len(waiting))
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        running: dict[Future[dict[str, Any]], str] = {}
        while waiting or running:
            while waiting and len(running) < workers and seconds_left() > 20.0:
                key, (function, *arguments) = waiting.pop(0)
                running[pool.submit(function, *arguments)] = key
            if not running:
                return
            done, _ = wait(running, return_when=FIRST_COMPLETED)
            for future in done:
                pieces.add(running.pop(future), future.result())


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Work through the truths; what is finished is kept in `work` and not done again."""
    pieces = Pieces(work / "truths.jsonl")
    if not quick:
        _gathered(pieces, [(f"train{i}", (train, i)) for i in range(TRAINING)])
    factor = best_factor(pieces)
    (work / "factor.json").write_text(json.dumps(factor), encoding="utf-8")
    count = TRUTHS_QUICK if quick else TRUTHS_NOW
    _gathered(pieces, [(f"truth{i}", (one_truth, i, factor, quick)) for i in range(count)])
    return gather(work)


def gather(work: Path) -> dict[str, Any]:
    """Return the results so far, and draw them; nothing where no truth is finished."""
    from scripts.proof.robustness_tables import draw

    pieces = Pieces(work / "truths.jsonl")
    truths = [piece for piece in pieces if piece["key"].startswith("truth")]
    if not truths:
        return {}
    factor = json.loads((work / "factor.json").read_text(encoding="utf-8"))
    draw(truths, work / "robustness.svg")
    return {
        "truths": truths,
        "factor": factor,
        "trained": sum(piece["key"].startswith("train") for piece in pieces),
        "finished": f"{len(truths)} of {TRUTHS} truths",
        "undone": TRUTHS_NOW - len(truths),
        "seeds": f"truths {SEED} + number, training {TRAINING_SEED} + number, bootstrap 1",
    }


def report(results: dict[str, Any]) -> str:
    """Return the page."""
    from scripts.proof.robustness_tables import page

    return page(results)
