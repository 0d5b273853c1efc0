"""Readings that no pond could have given, or that contradict each other: named, and not averaged in.

Nothing is mended in silence: what is left out is said with where and why. Where two readings contradict each
other and nothing else speaks for either, the one with less oxygen is believed: to believe too much kills fish.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np

from plumeline.job.document import AirRun, Answer, Job, OxygenReading, Profile, SmellStrength
from plumeline.job.reading_names import capital, spoken
from plumeline.notices import Notice, caution, danger, note
from plumeline.pairs import pair
from plumeline.science.gases import do_saturation_benson_krause_1984, pressure_icao_1993
from plumeline.science.water import salinity_hill_1986
from plumeline.stages.column.looks import Kind
from plumeline.units import both

Reading = Profile | OxygenReading
Skipped = set[tuple[str, Kind, float | None]]
"""Reading, kind and depth of what is left out; no depth for all of them."""

STUCK_MG_L = 0.05
FLICKER_MG_L = 0.2  # of a stuck meter's last digit
NOTHING_MG_L = 0.3
LAYERED_DEGC = 2.0
WELL_LAYERED_DEGC = 5.0
RISEN_MG_L = 2.5
RISEN_WITHIN_D = 10.0
STUCK_FOR_H = 6.0
NIGHT_HOURS_H = (0.0, 7.0)
NIGHT_SATURATION_NUMBER = 1.8
SULPHIDE_MG_L = 0.3
WITH_SULPHIDE_MG_L = 1.5  # oxygen and sulphide eat each other
TOGETHER_H = 1.5
APART_MG_L = 2.5
APART_DEGC = 2.5
SPIKE_MG_L = 4.0
SPIKE_UP_DEGC = 1.0
SPIKE_DOWN_DEGC = 1.5
NOON_HOURS_H = (9.5, 17.5)
DAY_H = 24.0
LOOKED_M = 0.6096  # two feet: where the plan is read


@dataclass
class Doubts:
    """What is doubted: notices, and what is left out."""

    notices: list[Notice] = field(default_factory=list)
    skipped: Skipped = field(default_factory=set)

    def leave_out(self, item: Reading, kind: Kind, depth_m: float | None, code: str, text: str) -> None:
        """Name a reading and leave it out."""
        self.skipped.add((item.id, kind, depth_m))
        self.notices.append(caution(code, text))

    def skips(self, item: Reading, kind: Kind) -> bool:
        """Return whether all numbers of a kind of a reading are left out."""
        return (item.id, kind, None) in self.skipped


def doubts_of(job: Job, readings: Sequence[Reading], runs: tuple[AirRun, ...]) -> Doubts:
    """Return what is doubted of the readings (in order of time)."""
    found = Doubts()
    zone = ZoneInfo(job.site.time_zone)
    for item in readings:
        _stuck_in_depth(item, found)
        _too_high(item, job, zone, found)
        _spikes(item, found)
    _stuck_in_time(readings, found)
    _contradictions(readings, runs, found)
    _risen_below(readings, runs, found)
    _nothing_anywhere(readings, job, found)
    _when_read(readings, zone, found)
    return found


def oxygens(item: Reading) -> list[tuple[float, float]]:
    """Return depth and oxygen of each depth."""
    if isinstance(item, OxygenReading):
        return list(zip(item.depth_m, item.do_mg_l, strict=True))
    return [(point.depth_m, point.do_mg_l) for point in item.points]


def _named(item: Reading) -> str:
    return capital(spoken(item.id))


def _value(kind: Kind, value: float) -> str:
    return f"{value:.1f} mg/L" if kind is Kind.OXYGEN else both(value, "degc")


def _gap(kind: Kind, value: float) -> str:
    return f"{value:.1f} mg/L" if kind is Kind.OXYGEN else _difference(value, 1)


def _difference(difference_k: float, digits_count: int) -> str:
    return pair(f"{1.8 * difference_k:.{digits_count}f} °F", f"{difference_k:.{digits_count}f} °C")


def _stuck_in_depth(item: Reading, found: Doubts) -> None:
    if not isinstance(item, Profile) or len(item.points) < 3:
        return
    read = [point.do_mg_l for point in item.points]
    warm = [point.temperature_degc for point in item.points]
    # in water so unlike from top to bottom even a flickering last digit is no water's oxygen
    same_mg_l = FLICKER_MG_L if max(warm) - min(warm) > WELL_LAYERED_DEGC else STUCK_MG_L
    if (
        max(read) - min(read) <= same_mg_l + 1e-9
        and min(read) > NOTHING_MG_L
        and max(warm) - min(warm) > LAYERED_DEGC
    ):
        text = (
            f"{_named(item)}: oxygen reads {read[0]:.1f} mg/L at every depth of water that is layered by "
            f"{_difference(max(warm) - min(warm), 0)}: the meter was stuck, or not given time. Its oxygen is left "
            "out; read again, and move the probe."
        )
        found.leave_out(item, Kind.OXYGEN, None, "meter-stuck", text)


def _stuck_in_time(readings: Sequence[Reading], found: Doubts) -> None:
    by_meter: dict[str, list[Reading]] = {}
    for item in readings:
        by_meter.setdefault(item.meter or "", []).append(item)
    for meter, items in by_meter.items():
        tops = [min(oxygens(item))[1] for item in items]
        same = max(tops) - min(tops) <= STUCK_MG_L and min(tops) > NOTHING_MG_L
        span_h = (items[-1].time - items[0].time).total_seconds() / 3600.0
        if len(items) < 3 or not same or span_h < STUCK_FOR_H:
            continue
        named = f"the meter {meter}" if meter else "the meter"
        for item in items:
            text = (
                f"{_named(item)}: {named} shows {tops[0]:.1f} mg/L at the surface in {len(items)} readings over "
                f"{span_h:.0f} h, day and night: it is stuck. Its oxygen is left out; calibrate it in air."
            )
            found.leave_out(item, Kind.OXYGEN, None, "meter-stuck", text)


def _too_high(item: Reading, job: Job, zone: ZoneInfo, found: Doubts) -> None:
    """Doubt oxygen far over saturation at the end of the night, or beside sulphide."""
    if not isinstance(item, Profile):
        return
    local = item.time.astimezone(zone)
    hour = local.hour + local.minute / 60.0
    top = item.points[0]
    pressure_pa = pressure_icao_1993(job.site.elevation_m)
    # salt not read counts as none: the water then holds most, and no meter is blamed for want of a reading
    salinity_g_kg = 0.0 if top.conductivity_us_cm is None else salinity_hill_1986(top.conductivity_us_cm)
    full = do_saturation_benson_krause_1984(top.temperature_degc, salinity_g_kg, pressure_pa)
    if NIGHT_HOURS_H[0] <= hour < NIGHT_HOURS_H[1] and top.do_mg_l > NIGHT_SATURATION_NUMBER * full:
        text = (
            f"{_named(item)}: {top.do_mg_l:.1f} mg/L at {local:%H:%M}, when a whole night has used it and the water "
            f"holds {full:.1f} in balance with the air: the meter reads high. Its oxygen is left out; calibrate it."
        )
        found.leave_out(item, Kind.OXYGEN, None, "meter-high", text)
    for point in item.points:
        kit = point.sulphide_mg_l
        foul = kit >= SULPHIDE_MG_L if kit is not None else point.smell is SmellStrength.STRONG
        if foul and point.do_mg_l > WITH_SULPHIDE_MG_L and not found.skips(item, Kind.OXYGEN):
            text = (
                f"{_named(item)}: {point.do_mg_l:.1f} mg/L at {both(point.depth_m, 'm')}, in water that holds "
                f"sulphide: the two do not last beside each other, so the meter reads some {point.do_mg_l:.0f} mg/L "
                "high there. Its oxygen is left out; hold the probe in bottom water, it must come to zero."
            )
            found.leave_out(item, Kind.OXYGEN, None, "meter-high", text)


def _spikes(item: Reading, found: Doubts) -> None:
    """Doubt a depth that stands against the one above it and the one below."""
    _spike(item, Kind.OXYGEN, oxygens(item), SPIKE_MG_L, SPIKE_MG_L, found)
    if isinstance(item, Profile):
        warm = [(point.depth_m, point.temperature_degc) for point in item.points]
        _spike(item, Kind.TEMPERATURE, warm, SPIKE_UP_DEGC, SPIKE_DOWN_DEGC, found)


def _spike(
    item: Reading,
    kind: Kind,
    pairs: list[tuple[float, float]],
    upper: float,
    lower: float,
    found: Doubts,
) -> None:
    for k in range(1, len(pairs)):
        depth, value = pairs[k]
        around = tuple(pair[1] for pair in (pairs[k - 1], *pairs[k + 1 : k + 2]))
        last = len(around) == 1
        # nothing under the last depth: only a rise over the one above it is strange there
        if max(around) + upper < value or (not last and value < min(around) - lower):
            read, *other = (_value(kind, number) for number in (value, *around))
            beside = f"under {other[0]}" if last else f"between {other[0]} and {other[1]}"
            text = (
                f"{_named(item)}: {read} at {both(depth, 'm')} stands {beside}: a slip of the pen or of the probe. "
                "It is left out; read that depth again."
            )
            found.leave_out(item, kind, depth, "reading-outlier", text)


def _contradictions(readings: Sequence[Reading], runs: tuple[AirRun, ...], found: Doubts) -> None:
    """Doubt two readings of about one hour, with no air between, that differ by more than errors explain."""
    for i, one in enumerate(readings):
        for other in readings[i + 1 :]:
            apart_h = (other.time - one.time).total_seconds() / 3600.0
            if apart_h > TOGETHER_H:
                break
            if _air_between(one, other, runs):
                continue
            _contradiction(one, other, Kind.OXYGEN, oxygens, APART_MG_L, found)
            if isinstance(one, Profile) and isinstance(other, Profile):
                _contradiction(one, other, Kind.TEMPERATURE, _warmths, APART_DEGC, found)


def _air_between(one: Reading, other: Reading, runs: tuple[AirRun, ...]) -> bool:
    return any(one.time <= run.start <= other.time for run in runs)


def _risen_below(readings: Sequence[Reading], runs: tuple[AirRun, ...], found: Doubts) -> None:
    """Doubt oxygen that is back at the bottom though no air ran and the water stayed layered: the meter reads high."""
    profiles = [item for item in readings if isinstance(item, Profile) and len(item.points) >= 2]
    for one, other in pairwise(profiles):
        if found.skips(one, Kind.OXYGEN) or found.skips(other, Kind.OXYGEN):
            continue
        days = (other.time - one.time).total_seconds() / 86400.0
        if days > RISEN_WITHIN_D or _air_between(one, other, runs):
            continue
        layered = all(
            item.points[0].temperature_degc - item.points[-1].temperature_degc > WELL_LAYERED_DEGC
            for item in (one, other)
        )
        deep = min(one.points[-1].depth_m, other.points[-1].depth_m)
        was, now = (float(np.interp(deep, *np.array(oxygens(item)).T)) for item in (one, other))
        if layered and was <= NOTHING_MG_L and now - was > RISEN_MG_L:
            text = (
                f"{_named(other)}: {now:.1f} mg/L at {both(deep, 'm')}, where {spoken(one.id)} found {was:.1f}, no air "
                "has run and the water is layered as before: oxygen does not come back down there by itself, so the "
                f"meter reads some {now - was:.0f} mg/L high. Its oxygen is left out; hold the probe in bottom water, "
                "it must come to zero."
            )
            found.leave_out(other, Kind.OXYGEN, None, "meter-high", text)


def _warmths(item: Reading) -> list[tuple[float, float]]:
    return [(p.depth_m, p.temperature_degc) for p in item.points] if isinstance(item, Profile) else []


def _contradiction(
    one: Reading, other: Reading, kind: Kind, pairs_of: Callable[[Reading], list[tuple[float, float]]],
    spread: float, found: Doubts,
) -> None:  # fmt: skip
    if found.skips(one, kind) or found.skips(other, kind):
        return
    gaps = _gaps(pairs_of(one), pairs_of(other))
    if kind is Kind.OXYGEN:
        # two zeros at the bottom speak for neither meter
        tops = dict(pairs_of(one))
        gaps = [(z, gap) for z, gap in gaps if max(tops[z], tops[z] + gap) > WITH_SULPHIDE_MG_L] or gaps
    if not gaps or abs(float(np.median([gap for _, gap in gaps]))) <= spread:
        return
    depth, gap = max(gaps, key=lambda pair: abs(pair[1]))
    # of oxygen the lower one is believed; of temperature the first
    doubted = (other if gap > 0.0 else one) if kind is Kind.OXYGEN else other
    believed = one if doubted is other else other
    words = "the lower is believed" if kind is Kind.OXYGEN else "the first is believed"
    text = (
        f"{_named(one)} and {spoken(other.id)} contradict each other by {_gap(kind, abs(gap))} at "
        f"{both(depth, 'm')} within {(other.time - one.time).total_seconds() / 60.0:.0f} min: {words} "
        f"({spoken(believed.id)}) and {spoken(doubted.id)} is left out until a third reading decides."
    )
    found.leave_out(doubted, kind, None, "readings-contradict", text)


def _gaps(pairs: list[tuple[float, float]], parts: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return depth and difference, `parts` less `pairs`, where both reach."""
    if not pairs or not parts:
        return []
    depths, values = zip(*parts, strict=True)
    return [
        (depth, float(np.interp(depth, depths, values)) - value)
        for depth, value in pairs
        if depths[0] - 0.3 <= depth <= depths[-1] + 0.3
    ]


def _nothing_anywhere(readings: Sequence[Reading], job: Job, found: Doubts) -> None:
    """Doubt no oxygen from top to bottom: the alarm comes first, then the meter."""
    for item in readings:
        read = oxygens(item)
        if len(read) < 2 or max(value for _, value in read) > NOTHING_MG_L or found.skips(item, Kind.OXYGEN):
            continue
        others = [
            other for other in readings
            if other is not item and abs((other.time - item.time).total_seconds()) < DAY_H * 3600.0
            and min(oxygens(other))[1] > APART_MG_L
        ]  # fmt: skip
        lived = job.fish.gasping_at_dawn is Answer.NO and job.fish.kill_this_season is Answer.NO
        alarm = (
            f"{_named(item)}: no oxygen from top to bottom. Emergency surface aeration comes first, before any "
            "diffuser runs. Then hold the meter in air: it must show about 8 mg/L"
        )
        if others and lived:
            text = f"{alarm}. {_named(others[0])} found oxygen within a day and the fish live: its oxygen is left out."
            found.leave_out(item, Kind.OXYGEN, None, "oxygen-zero", text)
        else:
            found.notices.append(danger("oxygen-zero", f"{alarm}; it is believed until then."))


def _when_read(readings: Sequence[Reading], zone: ZoneInfo, found: Doubts) -> None:
    """Say what the hours and depths of the readings can't tell."""
    hours = [_clock_h(item.time, zone) for item in readings]
    if all(NOON_HOURS_H[0] <= hour <= NOON_HOURS_H[1] for hour in hours):
        text = (
            "Oxygen was read in the middle of the day only: how low it falls by dawn is guessed. One reading at "
            f"{both(LOOKED_M, 'm')} at dawn tells more than any other."
        )
        found.notices.append(note("noon-only", text))
    if not any(isinstance(item, Profile) and len(item.points) > 1 for item in readings):
        text = (
            "Every reading is of one depth: nothing shows the layers. The water under it is guessed; read at "
            f"{both(LOOKED_M, 'm')}, in the thermocline and near the bottom."
        )
        found.notices.append(caution("one-depth", text))


def _clock_h(time: datetime, zone: ZoneInfo) -> float:
    local = time.astimezone(zone)
    return local.hour + local.minute / 60.0
