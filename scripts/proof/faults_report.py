"""The page of the faults: hit rates beside the best, log scores, the next reading, calibration and its plot."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import altair as alt
import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta
from tests.truth import airline_faults as truth

from plumeline.charts.common import chart_of, chart_svg, rows_of
from plumeline.palette import DEEP, SHALLOW, WARNING

Array = NDArray[np.float64]
Rows = list[dict[str, Any]]

BINS = (0.0, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.7, 0.85, 0.95, 1.0)
REPLICATES = 2000
NEAR_POINTS, BEATEN = 0.05, 0.70
LEAST_ODDS = 1e-12
PLOT = "faults-calibration.svg"


def hits(rows: Rows, who: str) -> Array:
    """Return 1 where the likeliest cause of an observer was the one planted (rows)."""
    return np.array([float(row[who]["first"] == row["cause"]) for row in rows])


def log_scores(rows: Rows, who: str) -> Array:
    """Return the logarithm of the odds that an observer gave to the cause planted (rows)."""
    return np.log(np.maximum([row[who]["truth"] for row in rows], LEAST_ODDS))


def mean_band(values: Array, seed: int = 1) -> tuple[float, float, float]:
    """Return a mean and its 95 % interval, values drawn again (bootstrap)."""
    generator = np.random.default_rng(seed)
    means = values[generator.integers(0, len(values), (REPLICATES, len(values)))].mean(axis=1)
    low, high = np.quantile(means, (0.025, 0.975))
    return float(values.mean()), float(low), float(high)


def reliability(said: Array, happened: Array) -> Rows:
    """Return, for each bin of the said odds, how often it was so, with a 95 % interval (Clopper & Pearson 1934)."""
    found = []
    for low, high in pairwise(BINS):
        inside = (said >= low) & ((said < high) | (high == 1.0))
        count, right = int(inside.sum()), int(happened[inside].sum())
        if count:
            found.append(
                {
                    "low": low,
                    "high": high,
                    "count": count,
                    "said": float(said[inside].mean()),
                    "happened": right / count,
                    "lower": float(beta.ppf(0.025, right, count - right + 1)) if right else 0.0,
                    "upper": float(beta.ppf(0.975, right + 1, count - right)) if right < count else 1.0,
                }
            )
    return found


def pairs(rows: Rows, who: str) -> tuple[Array, Array]:
    """Return the odds said of every cause at every visit, and whether it was that cause."""
    said = [(p, float(cause == row["cause"])) for row in rows for cause, p in row[who]["odds"].items()]
    return tuple(np.array(said).T)  # type: ignore[return-value]


def won(rows: Rows, by: str) -> Array:
    """Return for each visit in doubt 1 where the chosen reading told more than the random one, ½ where as much."""
    sign = -1.0 if by == "entropy" else 1.0
    gain = np.array(
        [sign * (row["next"]["chosen"][by] - row["next"]["random"][by]) for row in rows if row["next"]]
    )
    return np.where(np.abs(gain) < 1e-9, 0.5, (gain > 0.0).astype(float))


def draw(rows: Rows, path: Path) -> None:
    """Draw what was said against how often it was so, as SVG."""
    points = []
    for who, name in (("program", "the program"), ("mutant", "told the first gauge only")):
        points += [{**row, "who": name} for row in reliability(*pairs(rows, who))]
    names = ["the program", "told the first gauge only"]
    colour = alt.Color(
        "who:N",
        title=None,
        scale=alt.Scale(domain=names, range=[DEEP, WARNING]),
        legend=alt.Legend(orient="bottom", labelLimit=240),
    )
    base = alt.Chart(rows_of(points)).encode(
        x=alt.X("said:Q", title="said", axis=alt.Axis(format="%"), scale=alt.Scale(domain=[0, 1])),
        color=colour,
    )
    up = alt.Axis(format="%")
    bars = base.mark_rule().encode(y=alt.Y("lower:Q", title="was so", axis=up), y2="upper:Q")
    dots = base.mark_point(filled=True, size=45).encode(y=alt.Y("happened:Q", title="was so", axis=up))
    ends = rows_of([{"said": 0.0, "happened": 0.0}, {"said": 1.0, "happened": 1.0}])
    even = alt.Chart(ends).mark_line(color=SHALLOW, strokeDash=[4, 3]).encode(x="said:Q", y="happened:Q")
    drawing = (even + bars + dots).properties(width=420, height=320)
    sentence = (
        "Odds said of every cause at every visit, and how often it was that cause, with 95 % intervals."
    )
    path.write_text(chart_svg(chart_of(path.stem, sentence, drawing)), encoding="utf-8")


def report(results: dict[str, Any]) -> str:
    """Return the page."""
    rows: Rows = results["rows"]
    faulty = [row for row in rows if row["cause"] != truth.SOUND]
    off = sum(row["cause"] == truth.OFF_LIST for row in faulty)
    kinds = sorted({row["place"] for row in faulty if row["cause"] == truth.OFF_LIST})
    lines = [
        f"{len(faulty)} faults, and {len(rows) - len(faulty)} sound lines as often as they come, in "
        f"{len({row['line'] for row in rows})} lines of two to six diffusers. Planted and solved by "
        "`tests/truth/airline.py`, which shares no line with the program: nested brackets, Colebrook friction, its own "
        "laws for membrane, compressor and holes, severities of its own. Each line is off by what nobody knows of it: "
        "machine 5 %, bores 2 %, each valve's heads 10 %, each membrane 0.1 psi. Gauges err by 0.25 psi, the staff "
        f"gauge by 2 in, a boil is misread once in 20. {off} of the faults ({off / max(len(faulty), 1):.0%}) are on no "
        f"list ({', '.join(kinds)}); the right answer there is `none of these`. The odds of the causes are those of "
        "the program's table, in truth and program alike: what is tried is the inference, not the odds.",
        "",
        "The best observer knows the truth's solver, its faults and their odds, and enumerates every cause, place and "
        "severity. The mutant is the program told the first gauge only (and the boils).",
        "",
        *_goals(rows),
        "",
        "## Right at the first guess",
        "",
        "| visits | count | program | best | best foresaw | mutant | log score: program | best | mutant | prior |",
        "|---|---|---|---|---|---|---|---|---|---|",
        _row("all", rows),
        _row("faults", faulty, mixed=False),
        _row("sound lines", [row for row in rows if row["cause"] == truth.SOUND], mixed=False),
    ]
    for by, some in (("visit", rows), ("line", rows), ("cause", faulty)):
        names = list(dict.fromkeys(row[by] for row in some))
        lines += [_row(name, [row for row in rows if row[by] == name], mixed=by != "cause") for name in names]
    lines += ["", *_places(faulty), "", *_next(rows), "", *_calibration(rows)]
    return "\n".join(lines) + "\n"


def _goals(rows: Rows) -> list[str]:
    """Return what was to be reached beside what was."""
    short, low, high = mean_band(hits(rows, "best") - hits(rows, "program"))
    gain, gain_low, gain_high = mean_band(log_scores(rows, "program") - log_scores(rows, "prior"))
    entropy, win_low, win_high = mean_band(won(rows, "entropy"))
    several = [row for row in rows if row["visit"] != "one gauge"]
    worse, worse_low, worse_high = mean_band(hits(several, "program") - hits(several, "mutant"))

    def kept(reached: bool) -> str:
        return "reached" if reached else "**not reached**"

    found = (
        (
            "within 5 points of the best hit rate",
            f"{100 * short:.1f} points under ({100 * low:.1f} to {100 * high:.1f})",
            short <= NEAR_POINTS,
        ),
        (
            "log score better than the prior's",
            f"{gain:+.2f} nats a visit ({gain_low:+.2f} to {gain_high:+.2f})",
            gain > 0.0,
        ),
        (
            "chosen reading beats a random one in 70 % (drop in entropy)",
            f"{entropy:.0%} ({win_low:.0%} to {win_high:.0%})",
            entropy >= BEATEN,
        ),
        (
            "the mutant is worse",
            f"{100 * worse:.1f} points fewer hits, several gauges ({100 * worse_low:.1f} to {100 * worse_high:.1f})",
            worse > 0.0,
        ),
    )
    rows_of_goals = [f"| {goal} | {words} | {kept(reached)} |" for goal, words, reached in found]
    return ["| goal | found (95 %) | |", "|---|---|---|", *rows_of_goals]


def _row(name: str, rows: Rows, *, mixed: bool = True) -> str:
    """Return one line; what the best observer foresaw is told only where all causes are in it as they come."""
    rates = [hits(rows, who).mean() for who in ("program", "best", "mutant")]
    foresaw = f"{np.mean([max(row['best']['odds'].values()) for row in rows]):.0%}" if mixed else "–"
    logs = [log_scores(rows, who).mean() for who in ("program", "best", "mutant", "prior")]
    return (
        f"| {name} | {len(rows)} | {rates[0]:.0%} | {rates[1]:.0%} | {foresaw} | {rates[2]:.0%} | "
        + " | ".join(f"{value:.2f}" for value in logs)
        + " |"
    )


def _places(faulty: Rows) -> list[str]:
    """Return how often the place is right, where the cause is and the place has a name on both sides."""
    known = [
        row
        for row in faulty
        if row["program"]["first"] == row["cause"] and (row["place"] in "ABCDEF" or row["place"] == "all")
    ]
    known = [
        row for row in known if row["place"] and row["visit"] not in ("one gauge", "compressor and manifold")
    ]
    right = sum(row["place_said"].split(" ")[0] == row["place"] for row in known)
    return [
        f"With the cause right and every port or branch read, the branch named first was right in {right} of "
        f"{len(known)}."
    ]


def _next(rows: Rows) -> list[str]:
    asked = [row["next"] for row in rows if row["next"]]
    fall = {name: np.mean([n["before"] - n[name]["entropy"] for n in asked]) for name in ("chosen", "random")}
    rise = {name: np.mean([n[name]["log"] - n["log_before"] for n in asked]) for name in ("chosen", "random")}
    foretold = np.mean([n["chosen"]["bits"] for n in asked])
    by_log, low, high = mean_band(won(rows, "log"))
    return [
        "## The next reading",
        "",
        f"In {len(asked)} visits with more than 0.3 bits of doubt left, the reading that the program puts first and "
        "another of its list drawn at random were taken in the truth, eight answers each. Doubt falls by "
        f"{fall['chosen']:.2f} bits with the chosen one ({foretold:.2f} foretold) and {fall['random']:.2f} with the "
        f"random one; the log score rises by {rise['chosen']:.2f} and {rise['random']:.2f} nats. By the log score of "
        f"what was planted, the chosen one wins {by_log:.0%} ({low:.0%} to {high:.0%}), where much is luck.",
    ]


def _calibration(rows: Rows) -> list[str]:
    lines = [
        "## Calibration",
        "",
        f"![What was said against how often it was so]({PLOT})",
        "",
        "| said | causes and visits | mean said | was so | 95 % |",
        "|---|---|---|---|---|",
    ]
    for row in reliability(*pairs(rows, "program")):
        lines.append(
            f"| {row['low']:.0%}–{row['high']:.0%} | {row['count']} | {row['said']:.1%} | {row['happened']:.1%} | "
            f"{row['lower']:.1%}–{row['upper']:.1%} |"
        )
    return lines
