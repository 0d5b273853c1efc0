"""What each reading told of the pond, and what it did not: quantities that a person understands, before and after."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plumeline.job.reading_names import spoken
from plumeline.kernels import column_index as ix
from plumeline.stages.column.evidence import Evidence
from plumeline.stages.column.march import Columns

Array = NDArray[np.float64]

ALL = "all readings"
QUANTITIES = {
    "oxygen debt of the bottom water": "mg/L",
    "dissolved sulphide of the bottom water": "mg/L",
    "respiration of the water at 20 °C": "g/m³/d",
    "oxygen demand of the bed at 20 °C": "g/m²/d",
    "gas exchange on a calm day": "m/d",
    "production in full light": "g/m³/d",
}
TELLING_FRACTION = 0.08  # of the width, under which a reading told nothing to speak of
LEAST_NUMBER = 1e-3  # added before the logarithm
RIDGE_NUMBER = 0.05


@dataclass(frozen=True)
class Spread:
    """5 %, middle and 95 % of a quantity over the simulated ponds."""

    p05: float
    median: float
    p95: float


@dataclass(frozen=True)
class Told:
    """How far one reading narrowed one quantity.

    Attributes:
        reading: its id, or all readings together.
        quantity: in words.
        unit: its unit.
        before: over the ponds of the priors, run through the same days.
        after: over those that agree with the reading.
    """

    reading: str
    quantity: str
    unit: str
    before: Spread
    after: Spread

    @property
    def words(self) -> str:
        """The same in words."""
        was, now = (
            f"{spread.median:.2g} ({spread.p05:.2g} to {spread.p95:.2g})"
            for spread in (self.before, self.after)
        )
        if abs(self.narrowed_fraction) < TELLING_FRACTION:
            return f"{spoken(self.reading)}: nothing of the {self.quantity}, {now} {self.unit}"
        return f"{spoken(self.reading)}: {self.quantity} {was} before, {now} {self.unit} after"

    @property
    def narrowed_fraction(self) -> float:
        """Part of the width from 5 to 95 %, in the logarithm, that the reading took away; below 0 where it widened."""
        before = np.log((self.before.p95 + LEAST_NUMBER) / (self.before.p05 + LEAST_NUMBER))
        after = np.log((self.after.p95 + LEAST_NUMBER) / (self.after.p05 + LEAST_NUMBER))
        return float(1.0 - after / before) if before > 0.0 else 0.0


def quantities_of(columns: Columns) -> Array:
    """Return the quantities of every member, in the order of `QUANTITIES` (quantities, members)."""
    state, p = columns.state, columns.parameters
    low = columns.grid.layers - 2
    sulphide = state[ix.SULPHIDE, low]
    debt = state[ix.DEBT_A, low] + ix.SULPHIDE_DEMAND * sulphide + state[ix.DEBT_C, low]
    return np.array(
        [
            debt,
            sulphide * p[ix.SULPHIDE_SHARE],
            (p[ix.RESPIRATION] + p[ix.FRESH_DECAY] * state[ix.FRESH, 0]) * 86400.0,
            p[ix.SEDIMENT] * 86400.0,
            p[ix.K600_CALM] * 86400.0,
            p[ix.P_MAX] * 86400.0 * p[ix.CHLOROPHYLL_0] * 1e-3,
        ]
    )


def told_by(evidence: Evidence, before: Array, seen: Array, after: Array) -> tuple[Told, ...]:
    """Return what all readings told, then each by itself.

    Args:
        evidence: the numbers that were read.
        before: quantities of ponds of the priors (quantities, ponds).
        seen: what those ponds would have read (numbers, ponds).
        after: quantities of the ensemble (quantities, members).
    """
    found = list(_rows(ALL, before, after))
    logs = np.log(before + LEAST_NUMBER)
    for item in np.unique(evidence.looks.item_index):
        moved = np.exp(_moved_by(evidence, int(item), logs, seen)) - LEAST_NUMBER
        found += _rows(evidence.looks.names[int(item)], before, np.maximum(moved, 0.0))
    return tuple(found)


def _rows(reading: str, before: Array, after: Array) -> tuple[Told, ...]:
    return tuple(
        Told(reading, quantity, unit, _spread(was), _spread(is_now))
        for (quantity, unit), was, is_now in zip(QUANTITIES.items(), before, after, strict=True)
    )


def _spread(values: Array) -> Spread:
    low, middle, high = (float(value) for value in np.quantile(values, (0.05, 0.5, 0.95)))
    return Spread(low, middle, high)


def _moved_by(evidence: Evidence, item: int, logs: Array, seen: Array) -> Array:
    """Return the ponds' quantities as one reading alone would move them: one linear step, in the logarithm."""
    rows = np.flatnonzero(evidence.looks.item_index == item)
    covariance = (evidence.root @ evidence.root.T)[np.ix_(rows, rows)]
    off = seen[evidence.row[rows]] - evidence.looks.read[rows, None]
    off = np.where(evidence.looks.censored[rows, None], np.minimum(off, 0.0), off)
    ponds = off.shape[1]
    about = off - off.mean(axis=1, keepdims=True)
    cross = (logs - logs.mean(axis=1, keepdims=True)) @ about.T / (ponds - 1.0)
    correlation = cross / np.outer(logs.std(axis=1) + 1e-9, about.std(axis=1) + 1e-9)
    cross *= np.clip(np.abs(correlation) * np.sqrt(ponds) - 1.0, 0.0, 1.0)
    inner = about @ about.T / (ponds - 1.0) + covariance
    inner += RIDGE_NUMBER * np.diag(np.diag(inner))
    drawn = np.linalg.cholesky(covariance) @ np.random.default_rng(item).standard_normal(off.shape)
    return np.asarray(logs + cross @ np.linalg.solve(inner, drawn - off))
