"""How the numbers of a pipe in the ground come about: its tests, the bores it may have, and the line over those."""

from __future__ import annotations

from functools import cached_property

from plumeline.job.document import HoldTest
from plumeline.science.air import stored_energy_crowl_1992
from plumeline.stages.air.cautions import HIGH_TEST_PA, TEST_FACTOR_NUMBER
from plumeline.stages.air.old_pipe import OldPipeProof, believe
from plumeline.stages.air.pipe_classes import UNKNOWN_BORES_M, BoreClass
from plumeline.stages.air.proving import (
    BORE_ERROR_FRACTION,
    FLOW_ERROR_FRACTION,
    TEMPERATURE_ERROR_K,
    Leak,
    gauge_error_pa,
)
from plumeline.stages.air.verdict import (
    LEAK_SHARE_FRACTION,
    LIKELY_PROBABILITY,
    REPLACE_SHARE_FRACTION,
)
from plumeline.workings.air_points import PRACTICE, PointValues
from plumeline.workings.book import Book
from plumeline.workings.value import Value, chosen, drawn, given, plain_constant, relation

FIELD = "air.old_pipe"
LEAK = "leak_flow_clapeyron_1834"
WEIGHED = (
    "the kinds of sources/buried_pipes.csv, weighed by Bayes' rule with what the open-end test and the print line "
    "say (docs/air.md)"
)
OVER_BORES = (
    "the air line solved anew, its valves set, for each bore that the pipe may have; by the bores' chance"
)


class OldPipeValues:
    """The values of a pipe in the ground.

    Attributes:
        points: the line at work.
        found: what the stage says of the pipe.
    """

    def __init__(self, points: PointValues, found: OldPipeProof) -> None:
        self.points, self.found, self.files = points, found, points.files
        ambient = points.network.ambient
        self.length = self.files.field("length of the old pipe", found.length_m, "m", f"{FIELD}.length")
        self.bore = drawn("bore of the old pipe, the middle", found.bore_m, "m", f"{WEIGHED}; the middle one")
        self.bores = [
            self.bore,
            drawn("bore of the old pipe, 5 in 100 less", found.bore_p05_m, "m", WEIGHED),
            drawn("bore of the old pipe, 5 in 100 more", found.bore_p95_m, "m", WEIGHED),
        ]
        self.volume = relation(
            "volume inside the old pipe", 0.25 * 3.141592653589793 * found.bore_m**2 * found.length_m, "m3",
            "0.7853981634 * D^2 * L", {"D": self.bore, "L": self.length}, source="geometry",
        )  # fmt: skip
        factor = plain_constant("test over working pressure", TEST_FACTOR_NUMBER, "", PRACTICE)
        self.test = relation(
            "most at a test of the old pipe", found.test_pressure_pa, "pa", "min(f * p, r)",
            {"f": factor, "p": self.working, "r": points.relief}, gauge=True,
        )  # fmt: skip
        self.high = plain_constant(
            "never of air", HIGH_TEST_PA, "pa", "the pressure at which water lines are tested; never air", gauge=True
        )  # fmt: skip
        self.high_round = plain_constant(
            "never of air, in round kPa", 690e3, "pa", "100 psi, to two figures", gauge=True
        )
        formula, terms = "stored_energy_crowl_1992(V, p + a, a)", {"V": self.volume, "a": ambient}
        self.energy = relation("energy in the old pipe at its test", found.test_energy_j, "J", formula,
                               {**terms, "p": self.test})  # fmt: skip
        number_j = stored_energy_crowl_1992(self.volume.number, HIGH_TEST_PA + ambient.number, ambient.number)
        self.high_energy = relation("energy in it at a pressure never used", number_j, "J", formula,
                                    {**terms, "p": self.high})  # fmt: skip
        times = relation("energy there over that of the right test", number_j / found.test_energy_j, "", "E / e",
                         {"E": self.high_energy, "e": self.energy})  # fmt: skip
        self.tested = [
            self.test,
            self.working,
            factor,
            self.high,
            self.high_round,
            self.high_energy,
            times,
            self.energy,
        ]

    @cached_property
    def working(self) -> Value:
        """The gauge at which the pipe works: of the line, or of the middle bore where that is more."""
        found, own = self.found, self.points.compressor
        if found.working_pressure_pa == own.number:
            return own
        return drawn("gauge at which the old pipe works", found.working_pressure_pa, "pa", f"{OVER_BORES}; the middle",
                     gauge=True)  # fmt: skip

    @cached_property
    def leaks(self) -> list[Value]:
        """The leak of the hold test and its error, the leak at work, and its share; nothing without a test."""
        leak, test = self.found.leak, self.files.job.air.old_pipe
        if leak is None or test is None or test.hold_test is None:
            return []
        terms = self._hold(test.hold_test)
        at_test = relation("leak in the hold test", leak.leak_standard_m3_s, "air",
                           f"max({LEAK}(V, p + a, n + a, T, U, t), 0)", terms)  # fmt: skip
        error, nothing = self._error(test.hold_test, terms), plain_constant("nothing", 0.0, "pa", "")
        spread = relation("standard error of the leak", leak.leak_se_standard_m3_s, "air",
                          f"{LEAK}(V, e, z, T, T, t)", {**terms, "e": error, "z": nothing},
                          words="the same relation for the error of the fall alone")  # fmt: skip
        at_work = relation(
            "leak at the working pressure", self.found.leak_at_working_standard_m3_s or 0.0, "air", "q * w / m",
            {"q": at_test, "w": self.working, "m": self._mean(leak, terms)}, words="in proportion to the gauge",
        )  # fmt: skip
        share = relation("part of the compressor's air that leaks", self.found.leak_share_fraction or 0.0, "fraction",
                         "l / Q", {"l": at_work, "Q": self.points.flow})  # fmt: skip
        more = []
        if at_test.number > 0.0:
            more = [relation("least leak that the test can see", 2.0 * spread.number * share.number / at_test.number,
                             "fraction", "2 * e * s / q", {"e": spread, "s": share, "q": at_test},
                             words="two standard errors")]  # fmt: skip
        return [at_test, spread, at_work, share, *more]

    def _hold(self, test: HoldTest) -> dict[str, Value]:
        field, where = self.files.field, f"{FIELD}.hold_test"
        start = field(
            "air in the pipe as the clock starts", test.temperature_degc, "degc", f"{where}.temperature"
        )
        end = start
        if test.end_temperature_degc is not None:
            end = field(
                "air in the pipe at the end", test.end_temperature_degc, "degc", f"{where}.end_temperature"
            )
        return {
            "V": self.volume, "a": self.points.network.ambient, "T": start, "U": end,
            "p": field("gauge at the start", test.start_pressure_pa, "pa", f"{where}.start_pressure", gauge=True),
            "n": field("gauge at the end", test.end_pressure_pa, "pa", f"{where}.end_pressure", gauge=True),
            "t": field("time shut in", 60.0 * test.minutes, "s", f"{where}.minutes"),
        }  # fmt: skip

    def _error(self, test: HoldTest, terms: dict[str, Value]) -> Value:
        own = gauge_error_pa(test.start_pressure_pa)
        absolute_pa = terms["p"].number + terms["a"].number
        drift_pa = absolute_pa / (test.temperature_degc + 273.15) * TEMPERATURE_ERROR_K
        gauge = chosen("error of a plain gauge", own, "pa", "half of 2 % of the least usual dial that holds it",
                       source="grade B of ASME B40.100, from memory")  # fmt: skip
        unseen = plain_constant(
            "change of temperature that nobody sees, K", TEMPERATURE_ERROR_K, "", "judgement"
        )
        return relation(
            "error of the fall of the gauge", (2.0 * own**2 + drift_pa**2) ** 0.5, "pa",
            "sqrt(2 * g^2 + ((p + a) / (T + 273.15) * k)^2)",
            {"g": gauge, "p": terms["p"], "a": terms["a"], "T": terms["T"], "k": unseen},
            words="two readings of the gauge, and half a kelvin",
        )  # fmt: skip

    def _mean(self, leak: Leak, terms: dict[str, Value]) -> Value:
        """Return the mean gauge of the test: logarithmic, between its start and what the leak alone left of it."""
        start = terms["p"]
        if leak.time_constant_s is None:
            return start
        absolute_pa = terms["n"].number + terms["a"].number
        ratio = (terms["T"].number + 273.15) / (terms["U"].number + 273.15)
        last_pa = max(absolute_pa * ratio - terms["a"].number, 1e-3 * start.number)
        last = relation("gauge at the end, at the first temperature", last_pa, "pa",
                        "max((n + a) * (T + 273.15) / (U + 273.15) - a, p / 1000)",
                        {name: terms[name] for name in "naTUp"}, gauge=True)  # fmt: skip
        return relation("mean gauge of the hold test", leak.mean_pressure_pa, "pa", "(p - l) / ln(p / l)",
                        {"p": start, "l": last}, gauge=True, words="logarithmic mean")  # fmt: skip

    def chance(self, item: BoreClass) -> Value:
        """Return how likely a kind is."""
        return drawn(f"chance of {item.name}", item.probability, "fraction", WEIGHED)

    @cached_property
    def limits(self) -> list[Value]:
        """What the pipe has proven, and the least rating of the kinds it may be."""
        found, made = self.found, list[Value]()
        test = self.files.job.air.old_pipe
        if found.proven_pressure_pa is not None and test is not None and test.hold_test is not None:
            held = self._hold(test.hold_test)["p"]
            factor = plain_constant("test over working pressure", TEST_FACTOR_NUMBER, "", PRACTICE)
            made += [relation("proven by the hold test", found.proven_pressure_pa, "pa", "p / f",
                              {"p": held, "f": factor}, gauge=True), held]  # fmt: skip
        if found.rating_pa is not None:
            words = (
                f"least rating of the kinds with a chance of {LIKELY_PROBABILITY:.0%} or more, times what is kept of "
                "it at the soil's temperature (sources/pipes.csv, sources/pressure_derating.csv)"
            )
            made.append(
                chosen("rating of the old pipe, at the soil's heat", found.rating_pa, "pa", words, gauge=True)
            )
        return made

    @cached_property
    def enough(self) -> list[Value]:
        """The share of its bores that carry the wanted air; nothing where it carries none."""
        bands = self.found.bands
        if bands is None:
            return []
        return [
            drawn(
                "part of the bores that carry the wanted air",
                bands.enough_probability,
                "fraction",
                OVER_BORES,
            )
        ]


def old_pipe_book(book: Book, values: OldPipeValues) -> None:
    """Say what the tables, notices and sentences on a pipe in the ground may show."""
    found, title = values.found, "Pipe in the ground"
    verdict = [*values.leaks, *values.limits, *values.tested, *values.enough,
               *(_class_bore(item) for item in found.classes[:1])]  # fmt: skip
    rows: dict[str, list[Value]] = {
        "verdict": verdict,
        "length": [values.length],
        "bore, 90 % band": [
            *values.bores,
            plain_constant("band said", 0.9, "fraction", "5 in 100 left at either end"),
        ],
        "leak in the hold test": values.leaks[:2],
        "leak at the working pressure": values.leaks[2:4],
        "works at": [values.working],
        "test it at no more than": [values.test],
        "energy in it then": [values.energy, values.high, values.high_round, values.high_energy],
        "rating, at the soil's heat": values.limits[-1:],
    }
    for name, cell in rows.items():
        book.at("part", title, name, values=cell)
    for row, item in enumerate(found.classes):
        book.at("part", "What it may be", str(row), "2", values=[_class_bore(item)])
        book.at("part", "What it may be", str(row), "3", values=[values.chance(item)])
    for count in range(len(found.classes)):
        left = 1.0 - sum(item.probability for item in found.classes[:count])
        book.at(
            "part",
            "What it may be",
            "others",
            values=[drawn("chance of all others", left, "fraction", WEIGHED)],
        )
    _bands(book, values)
    _notices(book, values, verdict)


def _class_bore(item: BoreClass) -> Value:
    return given(
        f"bore of {item.name}", item.bore_m, "m", "sources/pipes.csv, or fitted to the open-end test"
    )


def _bands(book: Book, values: OldPipeValues) -> None:
    bands = values.found.bands
    if bands is None:
        return
    title = "Over…"
    count = plain_constant("bores that stand for all it may have", float(bands.bore_count), "",
                           "three to a kind, nine to one that spans bores: docs/air.md")  # fmt: skip
    book.at("title", title, values=[count, *values.enough])
    shares = [plain_constant("share of the bores below", share, "fraction", "a choice of this program") for share in
              (0.05, 0.95)]  # fmt: skip
    book.at("head", title, values=shares)
    rows: list[tuple[str, tuple[float, float, float], str, bool | None]] = [
        (
            "compressor",
            (bands.compressor.p05_pa, bands.compressor.p50_pa, bands.compressor.p95_pa),
            "pa",
            True,
        ),
        ("manifold", (bands.manifold.p05_pa, bands.manifold.p50_pa, bands.manifold.p95_pa), "pa", True),
        (
            "lost in the trunk",
            (bands.trunk_drop.p05_pa, bands.trunk_drop.p50_pa, bands.trunk_drop.p95_pa),
            "pa",
            None,
        ),
        *(
            (
                f"air of {flow.name}",
                (flow.p05_standard_m3_s, flow.p50_standard_m3_s, flow.p95_standard_m3_s),
                "air",
                None,
            )
            for flow in bands.flows
        ),
    ]
    for row, (name, three, suffix, gauge) in enumerate(rows):
        for column, (share, number) in enumerate(zip(("5 %", "middle", "95 %"), three, strict=True), start=1):
            one = drawn(f"{name} over the bores, {share}", number, suffix, OVER_BORES, gauge=gauge)
            book.at("part", title, str(row), str(column), values=[one])


def _notices(book: Book, values: OldPipeValues, verdict: list[Value]) -> None:
    judged = [
        plain_constant("leak that is mended first", LEAK_SHARE_FRACTION, "fraction", "judgement"),
        plain_constant("leak at which a pipe is given up", REPLACE_SHARE_FRACTION, "fraction", "judgement"),
        plain_constant("error of a known flow", FLOW_ERROR_FRACTION, "fraction", "judgement"),
        plain_constant("spread of bores within a kind", BORE_ERROR_FRACTION, "fraction",
                       "published averages of one size differ by 0.5 to 3 %"),
    ]  # fmt: skip
    spans = [
        *(
            given("bore sold as 3/4 in", bore_m, "m", "sources/buried_pipes.csv")
            for bore_m in UNKNOWN_BORES_M
        ),
        *(given("the same, rounded", bore_m, "m", "sources/buried_pipes.csv") for bore_m in (0.017, 0.023)),
        plain_constant(
            "pressure lost in the least over that in the widest", 3.7, "", "the fifth power of their bores"
        ),
    ]
    pvc = sum(item.probability for item in values.found.classes if item.material == "pvc")
    plastic = drawn("chance of PVC", pvc, "fraction", WEIGHED)
    pool = [*verdict, *judged, *spans, plastic, *_cooling(values), *_surprise(values)]
    for code in ("verdict", "print-unread", "print-line", "none-fits", "disagrees", "maybe-pvc", "may-starve",
                 "tested-high", "blunt-test", "cooling", "test"):  # fmt: skip
        book.at("notice", f"old-pipe-{code}", values=pool)
    book.at("sentence", "What lies in the ground", values=judged)
    book.at("sentence", "Verdicts: a leak", values=judged)


def _cooling(values: OldPipeValues) -> list[Value]:
    """Return what the gauge of a tight pipe loses for each degree."""
    test = values.files.job.air.old_pipe
    if test is None or test.hold_test is None:
        return []
    terms = values._hold(test.hold_test)
    absolute_pa, kelvin = terms["p"].number + terms["a"].number, test.hold_test.temperature_degc + 273.15
    per = {name: terms[name] for name in "paT"}
    return [
        relation("fall of the gauge for each °C", absolute_pa / kelvin, "pa", "(p + a) / (T + 273.15)", per,
                 source="ideal gas law"),
        relation("fall of the gauge for each °F", absolute_pa / kelvin / 1.8, "pa", "(p + a) / (T + 273.15) / 1.8", per,
                 source="ideal gas law"),
    ]  # fmt: skip


def _surprise(values: OldPipeValues) -> list[Value]:
    """Return how many standard errors lie between the open-end gauge and what the likeliest kind shows."""
    belief = believe(values.files.job)[1]
    if belief is None or belief.surprise_number is None:
        return []
    words = "gauge of the open-end test less that of the likeliest kind at this flow, over their common error"
    return [drawn("standard errors apart", abs(belief.surprise_number), "", words)]
