"""What the reading means, in plain words, each with how much it matters."""

from __future__ import annotations

from plumeline.job.document import Job
from plumeline.notices import Notice, caution, danger, note
from plumeline.pairs import pair
from plumeline.science.chemistry import (
    ammonia_acute_epa_2013,
    ammonia_acute_trout_epa_2013,
    ammonia_chronic_epa_2013,
)
from plumeline.stages.checked import checked
from plumeline.stages.reading.conditions import aware
from plumeline.stages.reading.debt import SULPHIDE_TEST
from plumeline.stages.reading.nitrite import nitrite
from plumeline.stages.reading.result import LayerReading, Reading
from plumeline.stages.reading.salt import salt_notices
from plumeline.units import apart, both, convert

OLD_D = 3
"""Days after which a profile says little about today (oxygen forecasts beat nothing for about two days)."""

SUPERSATURATED_FRACTION = 1.15
SKIN_APART_M = 0.5


def spoken_wind(wind_speed_m_s: float) -> str:
    """Return a wind as it is spoken of: miles an hour, or metres a second."""
    return pair(f"{convert(wind_speed_m_s, 'm_s', 'mph'):.1f} mph", f"{wind_speed_m_s:.1f} m/s")


def findings(job: Job, result: Reading) -> tuple[Notice, ...]:
    """Return the findings of a reading.

    Args:
        job: fish, date, place
        result: the reading, its own notices not yet filled in

    Returns:
        notices, in order of topic
    """
    return (
        *_overturn(result),
        *_smell(result),
        *_layering(result),
        *salt_notices(result),
        *_oxygen(job, result),
        *_refuge(result),
        *_ammonia(job, result),
        *nitrite(job),
        *_sulphide(result),
        *_age(job, result),
    )


def _overturn(result: Reading) -> tuple[Notice, ...]:
    """Say what happens if the pond turns over now."""
    mixed, limits = result.mixed_now, result.limits
    left = f"{apart(mixed.do_after_debt_mg_l, limits.oxygen_mg_l, 1)} mg/L"
    band = (
        f"{apart(mixed.do_after_debt_low_mg_l, limits.oxygen_mg_l, 1)} to {mixed.do_after_debt_high_mg_l:.1f}"
    )
    words = (
        f"If it all turned over now, the whole pond would stand at {both(mixed.temperature_degc, 'degc')} "
        f"and about {left} of oxygen within a day ({band}), {mixed.do_mg_l:.1f} before the bottom water "
        f"takes its {both(mixed.debt_kg, 'kg')}"
    )
    fish = limits.oxygen_species[:1].upper() + limits.oxygen_species[1:]
    need = f"{fish} need {limits.oxygen_mg_l:g} mg/L"
    if mixed.do_after_debt_mg_l < limits.oxygen_mg_l:
        return (danger("overturn-kills", f"{words}. {need}: fish would die. Never start with a full day."),)
    if mixed.do_after_debt_low_mg_l < limits.oxygen_mg_l:
        return (caution("overturn-may-kill", f"{words}. {need}: at the bad end of the band fish would die."),)
    return (note("overturn-bearable", f"{words}. {need}."),)


def _smell(result: Reading) -> tuple[Notice, ...]:
    """Warn people of hydrogen sulphide."""
    basis = {pool.name: pool.basis for pool in result.debt.pools}["sulphide"]
    worst = max(layer.hydrogen_sulphide_mg_l for layer in result.layers)
    if basis != "prior moved by the smell" and not (basis.startswith(SULPHIDE_TEST) and worst > 0.0):
        return ()
    return (
        danger(
            "bottom-water-gas",
            "Bottom water can give off hydrogen sulphide when it is brought up: stay upwind, two people, "
            "the nose goes numb before the gas is safe, a meter in pits and cabinets.",
        ),
    )


def _layering(result: Reading) -> tuple[Notice, ...]:
    """Say where the layers lie, how firm they are, and what the wind does to them."""
    layers, found = result.strata, []
    depth, seasonal = layers.thermocline_depth_m, layers.seasonal_thermocline_depth_m
    if depth is None or seasonal is None:
        least = pair("1.8 °F", "1 °C")
        words = f"Top and bottom are less than {least} apart: the pond is mixed, or only lightly layered."
        return (note("mixed", words),)
    top, bottom = result.layers[0].temperature_degc, result.layers[-1].temperature_degc
    found.append(
        note(
            "layered",
            f"The pond is layered: {both(top, 'degc')} on top, {both(bottom, 'degc')} at the bottom, the "
            f"thermocline at {both(seasonal, 'm')}. Mixing it takes {result.stability_j_m2:.1f} J/m².",
        )
    )
    if seasonal - depth > SKIN_APART_M:
        found.append(
            note(
                "day-skin",
                f"The strongest step is at {both(depth, 'm')}: the day's warm skin, gone by morning; the "
                f"season's lies at {both(seasonal, 'm')}.",
            )
        )
    wind = result.wind
    if wind is not None and wind.lake_number is not None and wind.lake_number < 1.0:
        found.append(
            caution(
                "wind-tilts",
                f"The Lake Number is {apart(wind.lake_number, 1.0, 1)} in the recorded wind of "
                f"{spoken_wind(wind.wind_speed_m_s)}: such a wind, where it reaches the water, brings "
                "bottom water up at the windward shore.",
            )
        )
    return tuple(found)


def _oxygen(job: Job, result: Reading) -> tuple[Notice, ...]:
    """Say how much water is short of oxygen and whether the day's oxygen will last the night."""
    shares, found = result.shares, []
    if shares.hypoxic_top_m is not None and shares.hypoxic_fraction > 0.0:
        words = (
            f"{shares.hypoxic_fraction * 100.0:.0f} % of the pond's water holds less than "
            f"{shares.hypoxic_below_mg_l:g} mg/L of oxygen, from {both(shares.hypoxic_top_m, 'm')} down; "
            f"{both(result.deficit_kg, 'kg')} of oxygen are missing to saturation."
        )
        serious = shares.hypoxic_fraction > 0.1
        found.append(caution("hypoxic", words) if serious else note("hypoxic", words))
    surface = result.layers[0]
    dawn = _read_at_dawn(job, result)
    if surface.saturation_fraction > SUPERSATURATED_FRACTION:
        found.append(
            caution(
                "bloom-oxygen",
                f"The surface holds {surface.saturation_fraction * 100.0:.0f} % of saturation: a bloom makes "
                "it by day and breathes it by night." + ("" if dawn else " Read at dawn before trusting it."),
            )
        )
    if 10 <= aware(result.time, job.site.time_zone).hour < 21 and not dawn:
        found.append(
            note("read-by-day", "The profile was read by day; oxygen at dawn is lower. Read one at dawn too.")
        )
    return tuple(found)


def _refuge(result: Reading) -> tuple[Notice, ...]:
    """Say where fish can live today."""
    shares, limits = result.shares, result.limits
    if shares.usable_top_m is None or shares.usable_bottom_m is None:
        hottest = max(layer.temperature_degc for layer in result.layers)
        cool = ""
        if hottest > limits.max_temperature_degc:
            cool = f" at no more than {both(limits.max_temperature_degc, 'degc')}"
        return (
            danger(
                "no-refuge",
                f"No water has {limits.oxygen_mg_l:g} mg/L of oxygen or more{cool}, free of ammonia and "
                f"sulphide: there is no refuge for {limits.oxygen_species} today.",
            ),
        )
    words = (
        f"Fish can live from {both(shares.usable_top_m, 'm')} to {both(shares.usable_bottom_m, 'm')}: "
        f"{shares.usable_fraction * 100.0:.0f} % of the water."
    )
    thin = shares.usable_bottom_m - shares.usable_top_m < 0.6 or shares.usable_fraction < 0.15
    return (caution("refuge-small", words) if thin else note("refuge", words),)


def _read_at_dawn(job: Job, result: Reading) -> bool:
    """Tell whether a profile of the last two days was read at dawn."""
    now = aware(result.time, job.site.time_zone)
    times = [aware(profile.time, job.site.time_zone) for profile in job.profiles]
    return any(4 <= time.hour < 9 and abs((now - time).total_seconds()) < 2 * 86400 for time in times)


def _has_trout(job: Job) -> bool:
    return any("trout" in species or "salmon" in species for species in job.fish.species)


def _ammonia(job: Job, result: Reading) -> tuple[Notice, ...]:
    """Compare ammonia with the fish's limit and set the published criteria beside it."""
    worst = max(result.layers, key=lambda layer: layer.unionized_ammonia_mg_l)
    limit = result.limits.unionized_ammonia_mg_l
    guessed = worst.ph_assumed or worst.ammonia_assumed
    where = f"at {both(worst.depth_m, 'm')}"
    amount = f"{apart(worst.unionized_ammonia_mg_l, limit, 3)} mg/L"
    words = f"Un-ionised ammonia is {amount} {where}, the plan's own limit {limit:g} mg/L (as N)"
    found: list[Notice] = []
    if worst.unionized_ammonia_mg_l > limit:
        words += "; pH or ammonia is a guess there: test it." if guessed else "."
        found.append(caution("ammonia-over", words) if guessed else danger("ammonia-over", words))
    measured = [layer for layer in result.layers if not (layer.ph_assumed or layer.ammonia_assumed)]
    over = [layer for layer in measured if layer.ammonia_mg_l > _chronic_mg_l(layer)]
    if over:
        layer = max(over, key=lambda one: one.ammonia_mg_l / _chronic_mg_l(one))
        acute = ammonia_acute_trout_epa_2013 if _has_trout(job) else ammonia_acute_epa_2013
        hour, caveats = checked(acute, outside="caveat", temperature_degc=layer.temperature_degc, ph=layer.ph)
        month = _chronic_mg_l(layer)
        beyond = " (carried on beyond pH 6.5 to 9)" if caveats else ""
        found.append(
            note(
                "ammonia-criterion",
                f"Total ammonia at {both(layer.depth_m, 'm')} is {apart(layer.ammonia_mg_l, month, 2)} mg/L; the "
                f"EPA 2013 criteria there are {apart(month, layer.ammonia_mg_l, 2)} (30 days) and "
                f"{apart(hour, layer.ammonia_mg_l, 2)} (1 hour) as N"
                f"{beyond}. Mussels drive them, so they are strict for a pond of fish.",
            )
        )
    return tuple(found)


def _chronic_mg_l(layer: LayerReading) -> float:
    return ammonia_chronic_epa_2013(layer.temperature_degc, layer.ph)


def _sulphide(result: Reading) -> tuple[Notice, ...]:
    """Compare undissociated sulphide with the fish's limit."""
    worst = max(result.layers, key=lambda layer: layer.hydrogen_sulphide_mg_l)
    limit = result.limits.hydrogen_sulphide_mg_l
    if worst.hydrogen_sulphide_mg_l <= limit:
        return _sulphide_unread(result)
    where = f"at {both(worst.depth_m, 'm')}"
    amount = (
        f"{apart(worst.hydrogen_sulphide_mg_l, limit, 2 if worst.hydrogen_sulphide_mg_l >= 0.1 else 3)} mg/L"
    )
    if worst.sulphide_assumed:
        text = (
            f"Sulphide was not read there: the water {where} likely holds some {amount} of hydrogen sulphide, by the "
            f"table of priors (the plan's own limit for fish is {limit:g} mg/L). A sulphide test of bottom water "
            "narrows the plan much."
        )
        return (caution("sulphide-likely", text),)
    text = f"Hydrogen sulphide is {amount} {where}; the plan's own limit for fish is {limit:g} mg/L"
    if worst.do_mg_l >= result.limits.oxygen_mg_l:
        return (danger("sulphide-over", f"{text}, and there is oxygen enough for fish to be there."),)
    return (caution("sulphide-over", f"{text}. Mixing brings it up: the plan must go slowly."),)


def _sulphide_unread(result: Reading) -> tuple[Notice, ...]:
    """Say that sulphide was not read and is taken as none."""
    if not all(layer.sulphide_assumed for layer in result.layers):
        return ()
    text = "Sulphide was not read. No reading is poor in oxygen or smells, so it is taken as none; nobody tested it."
    return (note("sulphide-not-read", text),)


def _age(job: Job, result: Reading) -> tuple[Notice, ...]:
    """Say when the profile is old."""
    days = (job.date - aware(result.time, job.site.time_zone).date()).days
    if days <= OLD_D:
        return ()
    return (caution("profile-old", f"The latest profile is {days} days old: read again before the start."),)
