"""The reading for people."""

from __future__ import annotations

from plumeline.cli.figures import column, column_unit, percent, shown, yes
from plumeline.cli.tables import listing, table
from plumeline.stages.reading import MixedChemistry, Reading
from plumeline.stages.reading.bottle import Demand
from plumeline.stages.reading.debt import Mass
from plumeline.stages.reading.salt import salt_parts
from plumeline.units import convert, show
from plumeline.units.showing import System, plain

ASSUMED = "~"

LEAST_OVER_FRACTION = 1e-3
"""Oxygen over saturation, of that at saturation, from which it is said."""


def reading_blocks(found: Reading, units: System) -> list[str]:
    """Return the texts of the reading: profile, layers, shares, oxygen, debt, bottles, overturn."""
    blocks = [
        _profile(found, units),
        listing(_strata(found, units), title="Layers"),
        listing(_oxygen(found, units), title="Oxygen and room for the fish"),
        _debt(found, units),
    ]
    if found.bottles:
        blocks.append(_bottles(found, units))
    blocks.append(listing(_mixed(found, units), title="If it all turned over now"))
    return blocks


def _mark(text: str, assumed: bool) -> str:
    return f"{ASSUMED}{text}" if assumed else text


def _profile(found: Reading, units: System) -> str:
    rows = [
        (
            show(layer.depth_m, "m", units),
            column(layer.temperature_degc, "degc", units, 1),
            f"{layer.do_mg_l:.1f}",
            percent(layer.saturation_fraction),
            _mark(f"{layer.ph:.1f}", layer.ph_assumed),
            _mark(f"{layer.unionized_ammonia_mg_l:.3f}", layer.ph_assumed or layer.ammonia_assumed),
            _mark(f"{layer.hydrogen_sulphide_mg_l:.3f}", layer.ph_assumed or layer.sulphide_assumed),
            yes(layer.usable),
        )
        for layer in found.layers
    ]
    heads = (
        "depth",
        f"temp.\n{column_unit('degc', units)}",
        "DO\nmg/L",
        "of satu-\nration",
        "pH",
        "NH₃\nmg/L N",
        "H₂S\nmg/L",
        "fish can\nlive",
    )
    title = f"Profile of {found.time:%Y-%m-%d %H:%M}"
    text = table(heads, rows, align="rrrrrrrr", title=title)
    if any(layer.ph_assumed or layer.ammonia_assumed or layer.sulphide_assumed for layer in found.layers):
        text += f"\n  {ASSUMED} from the table of priors, not measured"
    return text


def _strata(found: Reading, units: System) -> list[tuple[str, str]]:
    strata = found.strata
    if strata.mixed:
        rows = [("thermocline", "none: the water is mixed")]
    else:
        rows = [("thermocline", shown(strata.thermocline_depth_m, "m", units))]
        if strata.seasonal_thermocline_depth_m != strata.thermocline_depth_m:
            rows.append(("seasonal thermocline", shown(strata.seasonal_thermocline_depth_m, "m", units)))
        top, bottom = (
            shown(value, "m", units) for value in (strata.metalimnion_top_m, strata.metalimnion_bottom_m)
        )
        rows.append(("metalimnion", f"{top} to {bottom}"))
    if salt_parts(found):
        rows.append(("parted by", "salt more than warmth"))
    rows.append(("Schmidt stability", f"{found.stability_j_m2:.1f} J/m²"))
    if found.max_buoyancy_frequency_squared_per_s2 is not None:
        rows.append(("strongest N²", f"{plain(found.max_buoyancy_frequency_squared_per_s2)} 1/s²"))
    rows.append(("centre of the volume", show(found.volume_centre_depth_m, "m", units)))
    if found.wind is None:
        rows.append(("Lake Number", "not known: no wind about the time of the reading"))
        return rows
    rows.append(("wind", _wind(found.wind.wind_speed_m_s, units)))
    calm = "none in mixed water" if strata.mixed else "none: the air is still"
    lake, wedderburn = found.wind.lake_number, found.wind.wedderburn_number
    rows.append(("Lake Number", calm if lake is None else f"{lake:.3g}"))
    none = calm if lake is None else "none: the water is layered up to the surface, no layer on top is mixed"
    rows.append(("Wedderburn number", none if wedderburn is None else f"{wedderburn:.3g}"))
    return rows


def _wind(wind_speed_m_s: float, units: System) -> str:
    """Return a wind as it is spoken of: miles an hour, or metres a second."""
    return (
        f"{convert(wind_speed_m_s, 'm_s', 'mph'):.1f} mph" if units == "us" else f"{wind_speed_m_s:.1f} m/s"
    )


def _oxygen(found: Reading, units: System) -> list[tuple[str, str]]:
    shares = found.shares
    hypoxic = percent(shares.hypoxic_fraction)
    if shares.hypoxic_top_m is not None:
        hypoxic += f", from {show(shares.hypoxic_top_m, 'm', units)} down"
    usable = percent(shares.usable_fraction)
    if shares.usable_top_m is not None and shares.usable_bottom_m is not None:
        top, bottom = (show(value, "m", units) for value in (shares.usable_top_m, shares.usable_bottom_m))
        usable += f", from {top} to {bottom}"
    limits = found.limits
    return [
        (f"under {shares.hypoxic_below_mg_l:g} mg/L of oxygen", hypoxic),
        ("under 0.5 mg/L", percent(shares.anoxic_fraction)),
        ("room within every limit", usable),
        ("oxygen in the pond", show(found.oxygen_kg, "kg", units)),
        ("at saturation", show(found.oxygen_at_saturation_kg, "kg", units)),
        *_to_saturation(found, units),
        (
            "limits of the fish",
            f"oxygen {limits.oxygen_mg_l:g} mg/L ({limits.oxygen_species}), no warmer than "
            f"{show(limits.max_temperature_degc, 'degc', units)} ({limits.temperature_species}), NH₃ "
            f"{limits.unionized_ammonia_mg_l:g} mg/L as N, H₂S {limits.hydrogen_sulphide_mg_l:g} mg/L "
            "(both poisons: the plan's own limits, judgement)",
        ),
    ]


def _to_saturation(found: Reading, units: System) -> list[tuple[str, str]]:
    """Return what is missing to saturation and what is over it: the one does not pay for the other."""
    over_kg = found.oxygen_kg - found.oxygen_at_saturation_kg + found.deficit_kg
    missing = show(found.deficit_kg, "kg", units)
    if over_kg < LEAST_OVER_FRACTION * found.oxygen_at_saturation_kg:
        return [("missing to saturation", missing)]
    return [
        ("missing to saturation", f"{missing}, where the water holds less"),
        ("over saturation", f"{show(over_kg, 'kg', units)}, where it holds more: that goes off into the air"),
    ]


def _mass(mass: Mass, units: System) -> tuple[str, str]:
    band = f"{column(mass.low_kg, 'kg', units)} to {column(mass.high_kg, 'kg', units)}"
    return column(mass.central_kg, "kg", units), band


def _debt(found: Reading, units: System) -> str:
    debt = found.debt
    rows = [(pool.name, *_mass(pool.mass, units), pool.basis) for pool in debt.pools]
    least = "at least: a bottle ran short" if debt.censored else debt.basis
    rows.append(("within a day", *_mass(debt.first_day, units), least))
    rows.append(("in all", *_mass(debt.total, units), ""))
    unit = column_unit("kg", units)
    title = f"Oxygen debt of {show(debt.owing_volume_m3, 'm3', units)} of water that owes oxygen"
    return table(("pool", unit, f"90 % band\n{unit}", "rests on"), rows, align="lrll", title=title)


def _demand(demand: Demand | None) -> str:
    if demand is None:
        return "not read"
    least = "at least " if demand.censored else ""
    return f"{least}{demand.demand_mg_l:.1f} ± {demand.standard_error_mg_l:.1f}"


def _bottles(found: Reading, units: System) -> str:
    rows = [
        (show(item.depth_m, "m", units), _demand(item.immediate), _demand(item.fast))
        for item in found.bottles
    ]
    heads = ("depth", "within 15 min\nmg/L", "within 24 h\nmg/L")
    return table(heads, rows, align="rrr", title="Bottles: oxygen that the bottom water takes up")


def _mixed(found: Reading, units: System) -> list[tuple[str, str]]:
    mixed = found.mixed_now
    chemistry = mixed_chemistry_lines(found.mixed_chemistry)
    low, high = mixed.do_after_debt_low_mg_l, mixed.do_after_debt_high_mg_l
    return [
        ("temperature", show(mixed.temperature_degc, "degc", units)),
        ("oxygen before any debt", show(mixed.do_mg_l, "mg_l", units)),
        (
            "oxygen after the first day's debt",
            f"{show(mixed.do_after_debt_mg_l, 'mg_l', units)} ({low:.1f} to {high:.1f})",
        ),
        *chemistry[:2],
    ]


def mixed_chemistry_lines(found: MixedChemistry | None) -> list[tuple[str, str]]:
    """Return the lines about pH and ammonia of the mixed water, guesses marked."""
    if found is None:
        return [("pH", "not stated: pH and alkalinity contradict each other")]
    guess = found.ph_assumed or found.ammonia_assumed
    total = _mark(f"{found.ammonia_mg_l:.2f}", found.ammonia_assumed)
    share = f"{100.0 * found.unionized_fraction:.2g} % of {total} mg/L total"
    ph = _mark(f"{found.ph:.2f}", found.ph_assumed)
    return [
        ("pH", f"{ph}, from alkalinity and carbon, which mix; pH does not"),
        ("un-ionised ammonia", f"{_mark(f'{found.unionized_mg_l:.3f}', guess)} mg/L as N, {share}"),
        (
            "EPA 2013 criteria, total as N",
            f"{found.criterion_acute_mg_l:.2f} mg/L for an hour ({found.criterion_acute_trout_mg_l:.2f} with "
            f"trout), {found.criterion_chronic_mg_l:.2f} for 30 days",
        ),
    ]
