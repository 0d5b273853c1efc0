"""How the numbers of the reading come about."""

from __future__ import annotations

from plumeline.job.document import Job
from plumeline.science.water import density_kell_1975
from plumeline.stages.reading import Reading
from plumeline.stages.reading.salt import of_salt_kg_m3
from plumeline.stages.reading.slices import slices_of
from plumeline.units.showing import System
from plumeline.workings.bands import Bands
from plumeline.workings.book import Book
from plumeline.workings.files import Files
from plumeline.workings.formulas import RELATIONS
from plumeline.workings.reading_debt import POOLS, DebtValues, bottle_values
from plumeline.workings.reading_mixed import MixedValues
from plumeline.workings.reading_oxygen import OxygenValues
from plumeline.workings.reading_profile import ProfileValues
from plumeline.workings.reading_strata import StrataValues
from plumeline.workings.survey import SurveyValues, ninety
from plumeline.workings.value import Value, plain_constant, relation


class ReadingValues:
    """The values of a reading, each made once, for its page and for those that rest on it."""

    def __init__(self, found: Reading, basin: SurveyValues, files: Files, units: System) -> None:
        self.found, self.basin = found, basin
        self.profile = ProfileValues(found, files, units)
        lines = self.profile.lines
        cut = slices_of(basin.found.hypsograph, lines.corners_m())
        self.bands = Bands(cut, lines.depth_m, units)
        self.strata = StrataValues(self.profile, self.bands, basin.area, basin.volume)
        if found.strata.seasonal_thermocline_depth_m is not None:
            seasonal = found.strata.seasonal_thermocline_depth_m
            self.profile.thermocline = self.strata.thermocline(seasonal, "seasonal thermocline")
        self.oxygen = OxygenValues(self.profile, basin, self.bands)
        self.masses = self.oxygen.oxygen()
        self.mixed = MixedValues(self.profile, self.bands, basin.volume, self.masses[0])
        self.debt = DebtValues(self.profile, basin, self.mixed.temperature)
        self.mixed.debt = self.debt.first_day


def reading_book(values: ReadingValues, units: System) -> Book:
    """Return the workings of a reading's page.

    Args:
        values: of the reading.
        units: the system of units.
    """
    book = Book(units)
    _profile(book, values)
    _layers(book, values)
    _oxygen(book, values)
    _debt(book, values)
    _bottles(book, values, values.profile.files.job)
    _mixed(book, values)
    _notices(book, values)
    book.at("sentence", "Debt: iron", values=[values.oxygen.poor])
    book.at("sentence", "Air pressure: standard atmosphere", values=[values.profile.elevation])
    return book


def _profile(book: Book, values: ReadingValues) -> None:
    profile, title = values.profile, "Profile of…"
    columns = (
        profile.depth, profile.temperature, profile.oxygen, profile.saturation_share, profile.ph, profile.unionized,
        profile.hydrogen_sulphide,
    )  # fmt: skip
    for row in range(len(profile.lines.points)):
        for column, cells in enumerate(columns):
            book.at("part", title, str(row), str(column), values=[cells[row]])


def _layers(book: Book, values: ReadingValues) -> None:
    found, strata, title = values.found, values.strata, "Layers"
    layers = found.strata
    rows: dict[str, list[Value]] = {
        "Schmidt stability": [strata.stability(found.stability_j_m2)],
        "centre of the volume": [strata.centre],
    }
    if layers.thermocline_depth_m is not None:
        rows["thermocline"] = [strata.thermocline(layers.thermocline_depth_m)]
        rows["seasonal thermocline"] = [values.profile.thermocline]
        top, bottom = layers.metalimnion_top_m or 0.0, layers.metalimnion_bottom_m or 0.0
        rows["metalimnion"] = [
            strata.metalimnion(top, "top of the metalimnion"),
            strata.metalimnion(bottom, "bottom of the metalimnion"),
        ]
    if found.max_buoyancy_frequency_squared_per_s2 is not None:
        rows["strongest N²"] = [strata.strongest]
    if found.wind is not None:
        rows["wind"] = [strata.wind]
        if found.wind.lake_number is not None:
            rows["Lake Number"] = [strata.lake_number]
        if found.wind.wedderburn_number is not None:
            rows["Wedderburn number"] = [strata.wedderburn]
    for name, cell in rows.items():
        book.at("part", title, name, values=cell)


def _oxygen(book: Book, values: ReadingValues) -> None:
    found, oxygen, title = values.found.shares, values.oxygen, "Oxygen and room for the fish"
    poor = oxygen.poor_share("water poor in oxygen", found.hypoxic_fraction, oxygen.poor)
    none = oxygen.poor_share("water without oxygen", found.anoxic_fraction, oxygen.none)
    top, bottom = found.usable_top_m, found.usable_bottom_m
    room = []
    if top is not None and bottom is not None:
        share = oxygen.share_between("room within every limit", found.usable_fraction, [(top, bottom)])
        room = [share, oxygen.edge(top), oxygen.edge(bottom)]
    else:
        room = [oxygen.share_between("room within every limit", 0.0, [])]
    full = values.found
    over = relation(
        "oxygen over saturation", full.oxygen_kg - full.oxygen_at_saturation_kg + full.deficit_kg, "kg", "o - s + d",
        dict(zip("osd", values.masses, strict=True)), words="what the water that is over saturation holds too much",
    )  # fmt: skip
    poor_from = [oxygen.edge(found.hypoxic_top_m)] if found.hypoxic_top_m is not None else []
    limits = [oxygen.oxygen_limit, oxygen.heat_limit, oxygen.ammonia_limit, oxygen.sulphide_limit]
    rows = {
        f"under {found.hypoxic_below_mg_l:g} mg/L of oxygen": [poor, *poor_from, oxygen.poor],
        "under 0.5 mg/L": [none, oxygen.none],
        "room within every limit": room,
        "oxygen in the pond": [values.masses[0]],
        "at saturation": [values.masses[1]],
        "missing to saturation": [values.masses[2]],
        "over saturation": [over],
        "limits of the fish": limits,
    }
    for name, cell in rows.items():
        book.at("part", title, name, values=cell)
    book.at("notice", "hypoxic", values=[poor, oxygen.poor, *poor_from, values.masses[2]])
    for code in ("refuge", "refuge-small"):
        book.at("notice", code, values=[*room[1:], *room[:1]])
    book.at("notice", "no-refuge", values=limits)


def _debt(book: Book, values: ReadingValues) -> None:
    debt, title = values.debt, "Oxygen debt of…"
    book.at("title", title, values=[debt.owing])
    book.at("head", title, values=[ninety()])
    minutes, day = _times()
    book.at("part", title, values=[minutes, day])
    for row, name in enumerate((*POOLS, "within a day", "in all")):
        triple = {"within a day": debt.first_day, "in all": debt.total}.get(name) or debt.pool(name)
        book.at("part", title, str(row), "1", values=triple[:1])
        book.at("part", title, str(row), "2", values=triple[1:])


def _times() -> tuple[Value, Value]:
    source = "the bottle test: read after a quarter of an hour and after a day"
    return (
        plain_constant("time of the first reading of a bottle", 15.0, "min", source),
        plain_constant("time of the second reading of a bottle", 24.0, "h", source),
    )


def _bottles(book: Book, values: ReadingValues, job: Job) -> None:
    title = "Bottles: oxygen…"
    book.at("head", title, values=_times())
    latest = {bottle.depth_m: bottle for bottle in job.bottles}
    for row, result in enumerate(values.found.bottles):
        depth, *rest = bottle_values(latest[result.depth_m], result, values.profile)
        book.at("part", title, str(row), "0", values=[depth])
        book.at("part", title, str(row), "1", values=rest[:2] if result.immediate is not None else [])
        book.at("part", title, str(row), "2", values=rest[2:] if result.immediate is not None else rest)


def _mixed(book: Book, values: ReadingValues) -> None:
    mixed, title = values.mixed, "If it all turned over now"
    rows: dict[str, list[Value]] = {
        "temperature": [mixed.temperature],
        "oxygen before any debt": [mixed.oxygen],
        "oxygen after the first day's debt": list(mixed.after),
    }
    if values.found.mixed_chemistry is not None:
        rows |= mixed.chemistry(values.found.mixed_chemistry)
    for name, cell in rows.items():
        book.at("part", title, name, values=cell)
    for code in ("overturn-kills", "overturn-may-kill", "overturn-bearable"):
        after = [mixed.temperature, *mixed.after, mixed.oxygen, values.debt.first_day[0]]
        book.at("notice", code, values=[*after, values.oxygen.oxygen_limit])


def _of_salt(profile: ProfileValues) -> Value:
    """Return salt's part of what makes the bottom water heavier than the top."""
    temperature, density = profile.lines.temperature_degc, profile.lines.density_kg_m3
    whole_kg_m3, by_salt_kg_m3 = of_salt_kg_m3(temperature, density)
    fresh = [
        relation(
            f"density without salt, {where}",
            density_kell_1975(one.number),
            "kg_m3",
            "density_kell_1975(T)",
            {"T": one},
        )
        for where, one in (("top", profile.temperature[0]), ("bottom", profile.temperature[-1]))
    ]
    terms = {"r1": profile.density[-1], "r0": profile.density[0], "k1": fresh[1], "k0": fresh[0]}
    share = min(by_salt_kg_m3 / whole_kg_m3, 1.0) if whole_kg_m3 > 0.0 else 0.0
    formula = "min(1 - (k1 - k0) / (r1 - r0), 1)"
    return relation(
        "salt's part of the difference in weight", share, "fraction", formula, terms, source="this program"
    )


def _notices(book: Book, values: ReadingValues) -> None:
    found, profile, oxygen = values.found, values.profile, values.oxygen
    book.at("notice", "bloom-oxygen", values=profile.saturation_share[:1])
    layers = found.layers
    book.at("notice", "salt-layered", values=[_of_salt(profile)])
    worst = max(range(len(layers)), key=lambda i: layers[i].hydrogen_sulphide_mg_l)
    sulphide = [profile.hydrogen_sulphide[worst], profile.depth[worst], oxygen.sulphide_limit]
    for code in ("sulphide-over", "sulphide-likely"):
        book.at("notice", code, values=sulphide)
    if found.strata.thermocline_depth_m is not None:
        ends = [profile.temperature[0], profile.temperature[-1], profile.thermocline]
        book.at("notice", "layered", values=[*ends, values.strata.stability(found.stability_j_m2)])
        first = values.strata.thermocline(found.strata.thermocline_depth_m)
        book.at("notice", "day-skin", values=[first, profile.thermocline])
    if found.wind is not None and found.wind.lake_number is not None:
        book.at("notice", "wind-tilts", values=[values.strata.lake_number, values.strata.wind])
    worst = max(range(len(layers)), key=lambda i: layers[i].unionized_ammonia_mg_l)
    toxic = [profile.unionized[worst], profile.depth[worst], oxygen.ammonia_limit]
    book.at("notice", "ammonia-over", values=toxic)
    _criterion(book, values)


def _criterion(book: Book, values: ReadingValues) -> None:
    """Say what the notice on the published criteria may show, at each depth where ammonia was read."""
    profile = values.profile
    source = "EPA 2013, Aquatic life ambient water quality criteria for ammonia: fresh water"
    pool = [
        plain_constant("days of the criterion", 30.0, "", source),
        plain_constant("hours of the criterion", 1.0, "", source),
        plain_constant("lowest pH of the criteria", 6.5, "", source),
        plain_constant("highest pH of the criteria", 9.0, "", source),
    ]
    layers = values.found.layers
    trout = any("trout" in name or "salmon" in name for name in profile.files.job.fish.species)
    acute = "ammonia_acute_trout_epa_2013" if trout else "ammonia_acute_epa_2013"
    found: list[Value] = []
    over: list[tuple[float, list[Value]]] = []
    for i, layer in enumerate(layers):
        if layer.ph_assumed or layer.ammonia_assumed:
            continue
        terms = {"T": profile.temperature[i], "pH": profile.ph[i]}
        limits = []
        for name, function in (("30 days", "ammonia_chronic_epa_2013"), ("an hour", acute)):
            number = RELATIONS[function].function(layer.temperature_degc, layer.ph)
            at = profile.depth[i].name.removeprefix("depth ")
            limits.append(
                relation(
                    f"criterion, {name}, {at}",
                    number,
                    "mg_l",
                    f"{function}(T, pH)",
                    terms,
                    words="total, as N",
                )
            )
        found = [profile.depth[i], profile.ammonia[i], *limits]
        over.append((layer.ammonia_mg_l / limits[0].number, found))
    if over:
        book.at("notice", "ammonia-criterion", values=[*max(over, key=lambda one: one[0])[1], *pool])
