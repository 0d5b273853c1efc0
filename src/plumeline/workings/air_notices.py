"""What the notices on an air line, and what it takes for granted, may show."""

from __future__ import annotations

from math import pi

from plumeline.stages.air.cautions import (
    HIGH_TEST_PA,
    TEST_FACTOR_NUMBER,
    USUAL_MEMBRANE_M_S,
    stored_energy_j,
)
from plumeline.stages.air.choosing import DEFAULT_SOIL_DEGC, HOT_DAY_DEGC, TRUNK_DROP_SHARE_FRACTION
from plumeline.stages.air.machine import SEA_LEVEL_PRESSURE_PA, hottest_known_degc
from plumeline.stages.air.network import GRAVITY_M_S2
from plumeline.stages.air.results import MANIFOLD, BranchPoint
from plumeline.workings.air_heat import HeatValues
from plumeline.workings.air_points import PRACTICE, PointValues
from plumeline.workings.book import Book
from plumeline.workings.value import Value, chosen, given, plain_constant, relation

FOOT_M = 0.3048


def notices(book: Book, values: PointValues, heat: HeatValues | None) -> None:
    """Say what the notices on the line itself may show."""
    for branch in values.air.valves_open.branches:
        if branch.dead and values.network.spec(branch.name).hangs_from == MANIFOLD:
            book.at("notice", "air-dead-branch", values=_dead(values, branch))
    book.at("notice", "air-compressed-gas", values=_compressed(values))
    opened = [
        flow for one in values.air.branches for flow in values.branch_flow(values.air.valves_open, one.name)
    ]
    cost = relation("cost of setting the valves", values.air.balancing.cost_pa, "pa", "p - o",
                    {"p": values.compressor, "o": values.network.point(values.air.valves_open)[0]})  # fmt: skip
    book.at("notice", "air-starved", values=[*opened, cost])
    balanced = [
        flow for one in values.air.branches for flow in values.branch_flow(values.air.balanced, one.name)
    ]
    book.at("notice", "air-short", values=[*balanced, values.wanted])
    alone = [flow for point in values.air.alone for one in values.air.branches
             for flow in values.branch_flow(point, one.name)]  # fmt: skip
    for code in ("air-membrane-over", "air-membrane-under", "air-membrane-most-unknown"):
        book.at("notice", code, values=[*_membrane(values), *opened, *balanced, *alone])
    needs = [values.network.needed(spec.name) for spec in values.air.branches]
    book.at("notice", "air-no-reach", values=needs)
    book.at("notice", "air-compressor-chosen", values=[values.wanted, values.compressor])
    book.at("notice", "air-power-short", values=[plain_constant("part counted of a load that runs for hours", 1.25,
                                                                "fraction", "NEC 210.19, 210.20")])  # fmt: skip
    most = _most(values)
    for code in ("air-relief", "air-relief-low", "air-relief-tight", "air-over-pressure", "air-beyond-curve"):
        book.at("notice", code, values=[values.relief, values.compressor, values.highest, *most])
    book.at("notice", "air-transition", values=_transition())
    part = relation("part of the gauge that the trunk takes", values.trunk_drop.number / values.compressor.number,
                    "fraction", "d / p", {"d": values.trunk_drop, "p": values.compressor})  # fmt: skip
    for code in ("air-trunk-loss", "air-trunk-chosen"):
        book.at("notice", code, values=[values.trunk_drop, part, trunk_share()])
    if heat is not None:
        _heat(book, heat)


def _membrane(values: PointValues) -> list[Value]:
    """Return what a membrane stands by the job, or by its area where the job says nothing."""
    files, air = values.files, values.files.job.air
    given_ends = [
        files.field(f"{end} air of a membrane", number, "air", f"air.membrane_{end}_air")
        for end, number in (("most", air.membrane_most_air_m3_s), ("least", air.membrane_least_air_m3_s))
        if number is not None
    ]
    usual = chosen(
        "most air of such a disc", USUAL_MEMBRANE_M_S * pi * air.disc_radius_m**2, "air",
        f"π r² of air.disc_radius, {air.disc_radius_m:g} m, times {USUAL_MEMBRANE_M_S:g} m/s: a disc of 9 in at 2.5 "
        "scfm, EPA/625/1-89/023, from memory",
    )  # fmt: skip
    return [*given_ends, usual]


def _most(values: PointValues) -> list[Value]:
    """Return what the machine goes to, and the last point of its curve at this site."""
    machine, network = values.line.machine, values.network
    last_pa = machine.curve[-1].pressure_pa
    words = f"sources/compressors.csv, {machine.name}, or the end of the curve in job.toml"
    limit = given("what the machine goes to", machine.max_pressure_pa or last_pa, "pa", words, gauge=True)
    end = given(
        "last point of the curve", last_pa, "pa", "job.toml, air.compressor.curve, or the table", gauge=True
    )
    sea = plain_constant(
        "air pressure of the published curve", SEA_LEVEL_PRESSURE_PA, "pa", "1 atm", gauge=False
    )
    here = relation("last point of the curve at this site", last_pa * network.ambient.number / SEA_LEVEL_PRESSURE_PA,
                    "pa", "p * a / s", {"p": end, "a": network.ambient, "s": sea}, gauge=True)  # fmt: skip
    return [limit, here]


def trunk_share() -> Value:
    """Return the greatest part of the gauge that a trunk should take."""
    words = "a rule of this program: judgement"
    return plain_constant(
        "most that a trunk should take of the gauge", TRUNK_DROP_SHARE_FRACTION, "fraction", words
    )


def _transition() -> list[Value]:
    words = "between laminar and turbulent flow: texts on pipes"
    return [
        plain_constant("Reynolds number, low end", 2000.0, "", words),
        plain_constant("Reynolds number, high end", 4000.0, "", words),
        plain_constant("doubt of the friction there", 0.3, "fraction", "judgement"),
    ]


def _heat(book: Book, heat: HeatValues) -> None:
    metal = [*heat.metal(buried=False), *heat.metal(buried=True)]
    plastic = [k for k, piece in enumerate(heat.day.pieces) if not piece.metal]
    goals = [value for k in plastic for value in (heat.goal(k), heat.day.limit(k))]
    for code in ("air-metal-first", "air-hot-line", "air-hot-pipe", "air-hot-tubing"):
        book.at("notice", code, values=[heat.outlet, *metal, *goals, *heat.day.starts])
    machine = heat.values.line.machine
    known = machine.outlet_limit_degc
    stands = given(
        "hottest air of the machine",
        hottest_known_degc() if known is None else known,
        "degc",
        "sources/compressor_care.csv, outlet_limit_degc" + ("" if known is None else f", {machine.name}"),
    )
    book.at("notice", "air-hot-outlet", values=[heat.outlet, stands])


def _dead(values: PointValues, branch: BranchPoint) -> list[Value]:
    """Return what a dead branch needs, what the manifold has, what is short, and what would revive it."""
    network, name = values.network, branch.name
    needs, has = network.needed(name), network.point(values.air.valves_open)[1]
    short = relation(
        f"short at {name}, valves open", branch.shortfall_pa, "pa", "max(n - m, 0)", {"n": needs, "m": has}
    )
    weight = values.line.water_density_kg_m3 * GRAVITY_M_S2
    revive = relation(
        f"depth at which {name} would bubble with all valves open",
        network.spec(name).depth_m - branch.shortfall_pa / weight, "m", "d - s / (w * g)",
        {"d": values.network.depth(name), "s": short, "w": network.water_density, "g": network.gravity},
        source="hydrostatics",
    )  # fmt: skip
    return [needs, has, short, *values.branch_flow(values.air.balanced, name), revive]


def _compressed(values: PointValues) -> list[Value]:
    """Return the test pressure, and what an air test at a high pressure would store."""
    factor = plain_constant("test over working pressure", TEST_FACTOR_NUMBER, "", PRACTICE)
    test_pa = min(TEST_FACTOR_NUMBER * values.compressor.number, values.relief.number)
    test = relation("test at no more than", test_pa, "pa", "min(f * p, r)",
                    {"f": factor, "p": values.compressor, "r": values.relief}, gauge=True)  # fmt: skip
    source = "the pressure at which water lines are tested; never air"
    high = plain_constant("never of air", HIGH_TEST_PA, "pa", source, gauge=True)
    told = plain_constant("never of air", 690e3, "pa", f"{source}; 100 psi", gauge=True)
    stored = values.stored(
        "energy of such a pressure in the trunk", stored_energy_j(values.line, HIGH_TEST_PA), high
    )
    times = relation("energy of such a pressure over the present", stored.number / values.energy.number, "", "E / e",
                     {"E": stored, "e": values.energy})  # fmt: skip
    return [test, factor, high, told, times, stored, values.energy]


def sentences(book: Book, values: PointValues) -> None:
    """Say what the sentences on what is taken for granted may show."""
    network, job = values.network, values.files.job
    book.at("sentence", "Flows of air are counted at", values=values.standard)
    step_m = FOOT_M if network.units == "us" else 0.1
    foot = plain_constant("height of water told", step_m, "m", "definition")
    number = network.water_density.number * GRAVITY_M_S2 * step_m
    less = relation("pressure of that height of water", number, "pa", "w * g * h",
                    {"w": network.water_density, "g": network.gravity, "h": foot}, source="hydrostatics")  # fmt: skip
    book.at("sentence", "Gauges hold for", values=[foot, less])
    humid = "what damp air on a hot day holds of its volume: from memory"
    vapour = [
        plain_constant("taken by the vapour, low end", 0.03, "fraction", humid),
        plain_constant("taken by the vapour, high end", 0.05, "fraction", humid),
    ]
    book.at("sentence", "Friction by", values=vapour)
    book.at("sentence", "Power from the wall of", values=[values.open_power()])
    if "membrane_loss_pa" in job.air.model_fields_set:
        loss = values.files.field("membrane loss", job.air.membrane_loss_pa, "pa", "air.membrane_loss")
    else:
        loss = given("membrane loss", job.air.membrane_loss_pa, "pa", f"the job gives none: {PRACTICE}")
    book.at("sentence", "Membrane loss", values=[loss])
    book.at("sentence", "Intake air at", values=[plain_constant("a hot day", HOT_DAY_DEGC, "degc", PRACTICE)])
    soil = plain_constant("soil at the pipe", DEFAULT_SOIL_DEGC, "degc", "a usual soil")
    book.at("sentence", "Soil at the pipe", values=[soil])
    book.at("sentence", "Wanted flow", values=[values.wanted])
    book.at("sentence", "The trunk is chosen", values=[trunk_share()])
    unknown = chosen(
        "limit of an unknown plastic",
        60.0,
        "degc",
        "taken as plastic: what pipes of plastic stand in sources/pipes.csv",
    )
    book.at("sentence", "A piece of trunk is known", values=[unknown])
