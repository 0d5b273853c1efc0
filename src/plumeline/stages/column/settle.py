"""Bring members to what was read: the model's error at the last reading, drawn as the readings ask.

A member that was run through ten days stands near the reading, not on it: the model errs, and its error at the
reading is what the reading tells of best. It is drawn from its own covariance given what is left between member
and readings, and put on; the debts go with the oxygen.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.science.carbonate import carbon_from_alkalinity_and_ph
from plumeline.stages.column.looks import Kind, Looks, joined, meter_covariance, model_covariance, shares_of
from plumeline.stages.column.march import Columns
from plumeline.stages.column.seen import ph_of
from plumeline.stages.column.water import WaterRead

Array = NDArray[np.float64]

SETTLED = (Kind.TEMPERATURE, Kind.OXYGEN, Kind.PH, Kind.AMMONIA, Kind.SULPHIDE)
MOST_LOG_CHANGE_NUMBER = 1.2
COLDEST_DEGC = 5.0
SWEEPS = 40
SMALL_CHANGE_FRACTION = 0.3  # of the span from none to all of a debt, 0.75 mg/L of oxygen
REACH_M = 0.15  # above and below the depths of a profile that it still speaks for
_carbon = np.vectorize(carbon_from_alkalinity_and_ph, otypes=[float])


@dataclass(frozen=True)
class Settling:
    """The latest profile, by layer, beside what the members had at its hour.

    Attributes:
        water: the profile as it was read, by layer.
        hour: its hour.
        layers: temperature and oxygen of the members then (2, layers, members).
        noise: variance of what unknown weather did to each number (numbers).
    """

    water: WaterRead
    hour: int
    layers: Array
    noise: Array


def settle(columns: Columns, looks: Looks, off: Array, latest: Settling, seed: int) -> Columns:
    """Return the members with the model's error of this hour put on.

    Args:
        columns: the members, at the last reading or after it.
        looks: the numbers that were read.
        off: what was read less what each member would have read (numbers, members).
        latest: the latest profile.
        seed: of the errors drawn.
    """
    generator = np.random.default_rng(seed)
    state = columns.state.copy()
    before = state[ix.OXYGEN].copy()
    for kind in SETTLED:
        rows = looks.of(kind)
        if not rows.any():
            continue
        these, left = looks.only(rows), off[rows]
        # unknown weather errs as the model does, from the reading's point of view
        own = float(np.diag(model_covariance(these)).mean())
        wider = 1.0 + float(latest.noise[rows].mean()) / own
        if kind in (Kind.TEMPERATURE, Kind.OXYGEN):
            these, left = _by_layer(columns, these, left, kind, latest)
        change = _draw(_at_layers(columns, kind, latest), these, left, wider, generator)
        if kind is Kind.TEMPERATURE:
            warmer = np.clip(state[ix.TEMPERATURE] + change, 0.0, 45.0)
            state[ix.TEMPERATURE] = _stable(warmer, columns.grid.volume_m3)
        elif kind is Kind.OXYGEN:
            state[ix.OXYGEN] = np.clip(state[ix.OXYGEN] + change, 0.0, 35.0)
        elif kind is Kind.PH:
            ph = np.clip(ph_of(columns) + change, 5.5, 10.8)
            state[ix.CARBON] = _carbon(state[ix.ALKALINITY], ph, state[ix.TEMPERATURE])
        else:
            row = ix.AMMONIA if kind is Kind.AMMONIA else ix.SULPHIDE
            state[row] *= np.exp(np.clip(change, -MOST_LOG_CHANGE_NUMBER, MOST_LOG_CHANGE_NUMBER))
    _move_debts(state, before)
    return replace(columns, state=np.ascontiguousarray(state))


def _profile(latest: Settling, kind: Kind) -> Array:
    """Return the latest profile of temperature or oxygen, by layer."""
    return latest.water.temperature_degc if kind is Kind.TEMPERATURE else latest.water.do_mg_l


def _by_layer(
    columns: Columns, these: Looks, left: Array, kind: Kind, latest: Settling
) -> tuple[Looks, Array]:
    """Return the numbers with those of the latest profile laid on the layers: straight lines between the depths.

    A model's mixed layer and a line between two depths differ most between them; left alone there, the water
    would turn over.
    """
    items = np.unique(these.item_index[these.hour == latest.hour])
    counts = [int((these.item_index == item).sum()) for item in items]
    if not counts or max(counts) < 2:
        return these, left
    item = items[int(np.argmax(counts))]
    own = np.flatnonzero(these.item_index == item)
    centre = columns.grid.centre_m
    reach = (centre >= these.depth_m[own].min() - REACH_M) & (centre <= these.depth_m[own].max() + REACH_M)
    place = _at_layers(columns, kind, latest).only(reach)
    first = np.full(int(reach.sum()), own[0])
    read = _profile(latest, kind)[reach]
    place = replace(
        place, read=read, hour=these.hour[first], meter_index=these.meter_index[first],
        day_index=these.day_index[first], item_index=these.item_index[first],
    )  # fmt: skip
    others = these.item_index != item
    dense = read[:, None] - latest.layers[int(kind), reach]
    return joined(these.only(others), place), np.vstack([left[others], dense])


def _at_layers(columns: Columns, kind: Kind, latest: Settling) -> Looks:
    """Return the layers, now, as places for the error of one kind."""
    centre = columns.grid.centre_m
    layers = len(centre)
    slope, share = np.zeros(layers), np.ones(layers)
    if kind in (Kind.TEMPERATURE, Kind.OXYGEN):
        slope = np.gradient(_profile(latest, kind), centre)
    if kind is Kind.OXYGEN:
        share = shares_of(_profile(latest, kind))
    whole = np.zeros(layers, dtype=np.int64)
    return Looks(
        whole + int(kind), whole + columns.hour, centre, np.zeros(layers), share, slope, whole, whole, whole,
        np.zeros(layers, dtype=bool), (), (),
    )  # fmt: skip


def _draw(at: Looks, these: Looks, off: Array, wider_number: float, generator: np.random.Generator) -> Array:
    """Draw the error by layer given what is left at the readings (layers, members)."""
    layers, numbers, members = at.count, these.count, off.shape[1]
    everywhere = np.block(
        [
            [model_covariance(at), model_covariance(at, these)],
            [model_covariance(these, at), model_covariance(these)],
        ]
    )
    everywhere *= wider_number
    own = meter_covariance(these)
    drawn = _root(everywhere) @ generator.standard_normal((layers + numbers, members))
    meter = _root(own) @ generator.standard_normal((numbers, members))
    gain = np.linalg.solve(everywhere[layers:, layers:] + own, everywhere[layers:, :layers]).T
    return np.asarray(drawn[:layers] + gain @ (off - drawn[layers:] - meter))


def _stable(temperature_degc: Array, volume_m3: Array) -> Array:
    """Return the temperature without layers warmer than the one above them, where it is over 4 °C.

    Neighbours that lie upside down share their heat, until few do: an error drawn for each layer must not turn
    the water over.
    """
    found = temperature_degc.copy()
    warm = found.min(axis=0) >= COLDEST_DEGC
    for _ in range(SWEEPS):
        upside = warm & (found[1:] > found[:-1] + 1e-6)
        if not upside.any():
            break
        for k in np.flatnonzero(upside.any(axis=1)):
            mean = (volume_m3[k] * found[k] + volume_m3[k + 1] * found[k + 1]) / (
                volume_m3[k] + volume_m3[k + 1]
            )
            over = warm & (found[k + 1] > found[k])
            found[k], found[k + 1] = np.where(over, mean, found[k]), np.where(over, mean, found[k + 1])
    return found


def _root(covariance: Array) -> Array:
    values, vectors = np.linalg.eigh(0.5 * (covariance + covariance.T))
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))


def _move_debts(state: Array, oxygen_before: Array) -> None:
    """Let debts follow the oxygen: gone where it came, as below where it went."""
    before = np.clip((3.0 - oxygen_before) / 2.5, 0.0, 1.0)
    after = np.clip((3.0 - state[ix.OXYGEN]) / 2.5, 0.0, 1.0)
    # a change as small as a meter's error moves no debts: added and taken, it would leave too many
    more = np.maximum(after - before - SMALL_CHANGE_FRACTION, 0.0)
    less = np.where(after < before, (after + 0.02) / (before + 0.02), 1.0)
    for row in (ix.DEBT_A, ix.SULPHIDE, ix.DEBT_C):
        debt = state[row]
        below = np.maximum.accumulate(debt[::-1], axis=0)[::-1]
        share = 0.9 if row == ix.DEBT_C else 1.0
        state[row] = debt * (1.0 - share * (1.0 - less)) + share * more * (below - debt)
