"""How the numbers of the plumes come about: what each lifts, its band, how often it comes up, its oxygen."""

from __future__ import annotations

import numpy as np

from plumeline.job.document import Profile
from plumeline.science.gases import pressure_icao_1993
from plumeline.stages.plume import DiffuserPlume, PlumeResult
from plumeline.stages.plume.draws import MEMBERS, Source, prior_draws
from plumeline.stages.plume.gas import GAS_LIMIT_FRACTION, LIGHT_WIND_M_S, GasPressure
from plumeline.stages.plume.lift import solve_draws
from plumeline.stages.plume.stage import water_of_job
from plumeline.workings.book import Book
from plumeline.workings.files import Files
from plumeline.workings.survey import ninety
from plumeline.workings.value import Value, chosen, counted, measured, plain_constant, relation, summed

PLUME = "Wüest, Brooks & Imboden 1992, Water Resour. Res. 28:3235"


class PlumeValues:
    """The values of the plumes in the water as read.

    Attributes:
        found: the plumes.
        air: standard flow of each diffuser, by name.
    """

    def __init__(self, found: PlumeResult, files: Files, air: dict[str, Value], seed: int) -> None:
        self.found, self.air = found, air
        job = files.job
        water, pressure = water_of_job(job), pressure_icao_1993(job.site.elevation_m)
        draws = prior_draws(Source(job.air.disc_radius_m), MEMBERS, seed)
        self.flows: dict[str, np.ndarray] = {}
        self.surfaces: dict[str, np.ndarray] = {}
        for one in found.diffusers:
            self.flows[one.name], self.surfaces[one.name] = solve_draws(
                water, one.depth_m, one.air_m3_s, draws, pressure
            )

    def lift(self, one: DiffuserPlume) -> Value:
        """Return what a plume lifts: the plume's cross-section times its velocity where it ends."""
        flow = one.lift.water_flow_m3_s
        radius = one.lift.path_radius_m[-1] if one.lift.path_radius_m else 0.0
        words = (
            "volume and momentum carried up from the membrane: dQ/dz = 2παbw, d(πb²w²)/dz = buoyancy; "
            "entrainment 0.075 (top-hat), Froude number 1.6 at the start, bubble core 0.8 of the radius"
        )
        speed = flow / (np.pi * radius * radius) if radius else 0.0
        terms = {
            "b": summed(f"radius of the plume of {one.name} where it ends", radius, "m", words, source=PLUME),
            "w": summed(f"velocity of the plume of {one.name} there", speed, "m_s", words, source=PLUME),
        }
        return relation(
            f"water lifted by {one.name}",
            flow,
            "m3_s",
            f"{np.pi:.10g} * b^2 * w",
            terms,
            words=words,
            source=PLUME,
            valid="bubbles of 0 to 20 mm radius; see the equations of the plume",
            assumptions=self.found.assumptions,
        )

    def band(self, name: str, draws_m3_s: np.ndarray, low: float, high: float) -> list[Value]:
        """Return both ends of a band: points of the sorted draws."""
        ends = (("low end", 0.05, low), ("high end", 0.95, high))
        return [point_of(f"{name}, {end}", draws_m3_s, share, number, "m3_s") for end, share, number in ends]

    def surfacing(self, one: DiffuserPlume) -> Value:
        """Return how many of 100 draws come up."""
        up = float(self.surfaces[one.name].sum())
        terms = {
            "k": summed(f"draws of {one.name} that come up", up, "", "counted"),
            "n": plain_constant("draws", float(MEMBERS), "", "Latin hypercube over the table of priors"),
        }
        return counted(
            f"draws of {one.name} that come up, of 100",
            100.0 * one.surfacing_probability,
            "",
            "100 * k / n",
            terms,
        )

    def uptake(self, one: DiffuserPlume) -> Value:
        """Return the part of its oxygen that a plume's bubbles give to the water."""
        lift = one.lift
        terms = {
            "u": summed(f"oxygen that the water takes from {one.name}", one.oxygen_transfer_kg_s, "kg_s",
                        "transfer of each bubble on its whole way up; clean bubbles", source=PLUME),
            "s": summed(f"oxygen in the air of {one.name}", lift.oxygen_supplied_kg_s, "kg_s", "oxygen of the dry air"),
        }  # fmt: skip
        return relation(
            f"oxygen taken up over {one.name}",
            lift.oxygen_transfer_efficiency_to_surface,
            "fraction",
            "u / s",
            terms,
        )

    def all(self) -> tuple[Value, list[Value]]:
        """Return what all plumes lift, and its band."""
        terms = {f"q{k}": self.lift(one) for k, one in enumerate(self.found.diffusers, start=1)}
        total = relation("water lifted by all", self.found.water_flow_m3_s, "m3_s", " + ".join(terms), terms)
        flows = np.sum([self.flows[one.name] for one in self.found.diffusers], axis=0)
        low, high = self.found.water_flow_p05_m3_s, self.found.water_flow_p95_m3_s
        return total, self.band("water lifted by all", flows, low, high)


def point_of(name: str, draws: np.ndarray, part_fraction: float, number: float, suffix: str) -> Value:
    """Return a point of sorted draws, shape (n,): straight between the two that lie about it."""
    ordered = np.sort(draws)
    place = part_fraction * (len(ordered) - 1)
    k = min(int(place), len(ordered) - 2)
    words = f"of {len(ordered)} draws in order"
    terms = {
        "a": summed(f"draw {k + 1} {words}", float(ordered[k]), suffix, "the draws are the program's own"),
        "b": summed(f"draw {k + 2} {words}", float(ordered[k + 1]), suffix, "the draws are the program's own"),
        "f": summed("part of the way between them", place - k, "", f"{part_fraction:g} of {len(ordered) - 1} steps"),
    }  # fmt: skip
    return counted(
        name, number, suffix, "a + (b - a) * f", terms,
        words=f"the {100 * part_fraction:g} % point of {len(ordered)} draws from the table of priors",
    )  # fmt: skip


def plume_table(book: Book, plumes: PlumeValues) -> None:
    """Say what the table of the plumes may show."""
    title = "Plumes in the water as read"
    book.at("head", title, values=[ninety()])
    hundred = plain_constant("draws that the share is said of", 100.0, "", "a way to say a share")
    for row, one in enumerate(plumes.found.diffusers):
        band = plumes.band(
            f"water lifted by {one.name}",
            plumes.flows[one.name],
            one.water_flow_p05_m3_s,
            one.water_flow_p95_m3_s,
        )
        surfacing = plumes.surfacing(one)
        cells = ([plumes.air[one.name]], [plumes.lift(one)], band, [surfacing, hundred], [plumes.uptake(one)])
        for column, cell in enumerate(cells, start=1):
            book.at("part", title, str(row), str(column), values=cell)
    total, band = plumes.all()
    last = str(len(plumes.found.diffusers))
    book.at("part", title, last, "2", values=[total])
    book.at("part", title, last, "3", values=band)


def plume_words_book(
    book: Book, plumes: PlumeValues, profile: Profile | None, membranes: dict[str, Value]
) -> None:
    """Say what the sentences on the plumes, and the cautions on them, may show.

    Args:
        book: filled
        plumes: of the plumes
        profile: the water as read; None where nobody read it
        membranes: depth of each membrane, by name
    """
    hundred = plain_constant("draws that the share is said of", 100.0, "", "a way to say a share")
    every: list[Value] = []
    for one in plumes.found.diffusers:
        cell = [*_rest(one, membranes[one.name]), plumes.surfacing(one), _turned(one, plumes), hundred]
        book.at("part", "What will be seen", one.name, values=cell)
        every += cell
    book.at("notice", "plume-turns-back", values=every)
    book.at("notice", "gas-pressure", values=gas_values(plumes.found.gas))
    if profile is not None:
        ends = (profile.points[0].depth_m, profile.points[-1].depth_m)
        read = [measured(f"{which} reading", depth_m, "m", f"the last profile, {profile.id}") for which, depth_m in
                zip(("first", "last"), ends, strict=True)]  # fmt: skip
        for code in ("profile-held-constant", "profile-one-depth"):
            book.at("notice", code, values=[*read, *membranes.values()])


def gas_values(gas: GasPressure | None) -> list[Value]:
    """Return what the caution on the gas pressure of the water may show."""
    if gas is None:
        return []
    excess = summed(
        "nitrogen over that in balance with the air, in the end", gas.excess_fraction, "fraction",
        "x of F (1 − x/x₀) = k A C x: what the bubbles give, less the richer the water, is what the surface lets go; "
        f"F {gas.uptake_mol_s:.3g} mol/s by the plumes in the water as read, x₀ {gas.no_uptake_fraction:.3g} from the "
        f"same with the nitrogen of the end, k {gas.velocity_m_s:.3g} m/s (Cole & Caraco 1998, wind {LIGHT_WIND_M_S:g} "
        f"m/s), A {gas.surface_m2:.4g} m², C {gas.saturated_mol_m3:.3g} mol/m³", source=PLUME,
    )  # fmt: skip
    dry = summed("part of the gas pressure that is nitrogen's and argon's", gas.dry_fraction, "fraction",
                 "of air over water, less its vapour and oxygen")  # fmt: skip
    total = relation("gas pressure over that of the air", gas.total_fraction, "fraction", "1 + s * x",
                     {"s": dry, "x": excess})  # fmt: skip
    days = chosen("days to two thirds of it", max(gas.days_number, 1.0), "", "V C/(k A C + F/x₀): the pond's nitrogen "
                  "over what surface and bubbles exchange", source=PLUME)  # fmt: skip
    limit = plain_constant("criterion of total gas", GAS_LIMIT_FRACTION, "fraction",
                           "U.S. EPA 1986, Quality Criteria for Water, EPA 440/5-86-001 (from memory)")  # fmt: skip
    depth = chosen("depth at which the water's pressure makes up for it", gas.made_up_depth_m, "m",
                   "(total − 1) p/(ρ g), p of the air, ρ of the top water", source="hydrostatics")  # fmt: skip
    return [total, limit, days, depth]


def _rest(one: DiffuserPlume, membrane: Value) -> list[Value]:
    """Return where a plume turns back, and where its water comes to rest."""
    carried = "volume, momentum, heat and salt carried up from the membrane"
    places = (
        ("turns back", one.lift.stall_depth_m, f"{carried}, to where they stand still"),
        ("comes to rest", one.lift.neutral_depth_m, f"{carried}; where the pond's water weighs as much"),
    )
    return [
        relation(
            f"depth at which the plume of {one.name} {what}", depth_m, "m", "z - h",
            {"z": membrane, "h": summed(f"height at which the plume of {one.name} {what}", membrane.number - depth_m,
                                        "m", words, source=PLUME)},
        )
        for what, depth_m, words in places
        if depth_m is not None
    ]  # fmt: skip


def _turned(one: DiffuserPlume, plumes: PlumeValues) -> Value:
    """Return how many of 100 draws turn back."""
    return relation(f"draws of {one.name} that turn back, of 100", 100.0 * (1.0 - one.surfacing_probability), "",
                    "100 - s", {"s": plumes.surfacing(one)})  # fmt: skip
