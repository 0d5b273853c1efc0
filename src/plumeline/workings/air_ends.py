"""How the riser, the heights, the tubing and the barbs of an air line come about."""

from __future__ import annotations

from functools import cached_property
from math import ceil

from plumeline.science.air import density_clapeyron_1834
from plumeline.science.pipe import friction_factor_churchill_1977
from plumeline.stages.air.barbs import BARB_ROUGHNESS_M, barb_of
from plumeline.stages.air.ends import BOX_MARGIN_M, DRIP_LEG_M, EndsResult
from plumeline.stages.air.profile import DESIGN_COVER_M
from plumeline.stages.air.route import DEFAULT_HUMIDITY_FRACTION
from plumeline.stages.air.siphon import HIGH_WATER_M, LOOP_MARGIN_M, line_volume_m3
from plumeline.stages.air.tubing import BarbLoss
from plumeline.workings.air_heat import CoolingValues
from plumeline.workings.air_land import LandValues
from plumeline.workings.air_parts import PartValues
from plumeline.workings.air_points import PRACTICE, QUARTER_PI, PointValues
from plumeline.workings.air_restart import RestartValues
from plumeline.workings.value import Value, drawn, given, plain_constant, relation, summed


class EndValues:
    """The values of the line's two ends.

    Attributes:
        values: the line at work.
        now: its temperatures; None where they are not known.
        found: the stage's result.
        restart: of the stop; None where no diffuser runs.
        parts: of the parts lists.
        land: of the route on land; None without one.
    """

    def __init__(
        self, values: PointValues, now: CoolingValues | None, found: EndsResult, land: LandValues | None
    ) -> None:
        self.values, self.now, self.found, self.land = values, now, found, land
        self.restart = RestartValues(values, found.restart) if found.restart is not None else None
        self.parts = PartValues(values, found, self.restart)

    @cached_property
    def high_water(self) -> Value:
        """How far the highest water stands over today's."""
        number = self.values.files.job.power.high_water_m
        if number is None:
            return plain_constant(
                "highest water over today's", HIGH_WATER_M, "m", "judgement: the job gives none"
            )
        return self.values.files.field("highest water over today's", number, "m", "power.high_water")

    @cached_property
    def box(self) -> Value:
        """The least height of the box's floor over today's water."""
        margin = plain_constant("margin of the box", BOX_MARGIN_M, "m", PRACTICE)
        return relation("floor of the valve box over today's water", self.found.riser.box_over_water_m, "m", "h + m",
                        {"h": self.high_water, "m": margin})  # fmt: skip

    @cached_property
    def riser(self) -> Value:
        """The height of the riser."""
        covered = [k for k, piece in enumerate(self.values.line.trunk) if piece.cover_m > 0.0]
        if covered and self.now is not None:
            cover = self.now.cover(covered[-1])
        else:
            number_m = self.found.riser.height_m - self.found.riser.box_over_water_m
            words = f"what this program buries a trunk by: {PRACTICE}"
            cover = given("cover of the trunk", DESIGN_COVER_M if number_m else 0.0, "m", words)
        return relation(
            "riser into the box", self.found.riser.height_m, "m", "c + b", {"c": cover, "b": self.box}
        )

    @cached_property
    def condensate(self) -> list[Value]:
        """The water that comes to the riser's foot in a day."""
        if self.land is not None:
            return [self.land.to_the_riser(self.found.riser.water_kg_d)]
        if self.now is None:
            return []
        values, job = self.values, self.values.files.job
        humidity = job.air.intake_humidity_fraction
        if humidity is None:
            damp = plain_constant("humidity of the air at the intake", DEFAULT_HUMIDITY_FRACTION, "",
                                  "a damp day: the job gives none; judgement")  # fmt: skip
        else:
            damp = values.files.field(
                "humidity of the air at the intake", humidity, "", "air.intake_humidity"
            )
        terms = {
            "q": values.flow, "r": values.network.standard, "T": values.network.intake, "h": damp,
            "a": values.network.ambient, "t": self.now.starts[-1], "m": values.manifold, "d": self.day,
            "w": plain_constant("density of water", 1000.0, "kg_m3", "one litre weighs a kilogram"),
        }  # fmt: skip
        formula = "condensate_ashrae_2021(q * r, T, h, a, t, a + m) * d / w"
        number = self.found.riser.water_kg_d / 1000.0
        return [relation("water at the foot of the riser in a day", number, "m3", formula, terms)]

    @cached_property
    def day(self) -> Value:
        """A day."""
        return plain_constant("a day", 1.0, "d", "definition")

    def leg(self) -> list[Value]:
        """Return what a foot of drip leg holds, when it is full, and what a riser full of water adds."""
        riser, line, network = self.found.riser, self.values.line, self.values.network
        foot = plain_constant("length of the drip leg", DRIP_LEG_M, "m", PRACTICE)
        water = network.water_density
        plug = relation("pressure of a riser full of water", riser.plug_pressure_pa, "pa", "w * g * h",
                        {"w": water, "g": network.gravity, "h": self.riser}, source="hydrostatics")  # fmt: skip
        litre = plain_constant(
            "density of water, as it is told", 1000.0, "kg_m3", "one litre weighs a kilogram"
        )
        holds = relation(
            "water in a foot of drip leg", riser.leg_kg / 1000.0, "m3", f"{QUARTER_PI} * D^2 * L * w / k",
            {"D": network.piece(len(line.trunk) - 1)["D"], "L": foot, "w": water, "k": litre},
        )  # fmt: skip
        if riser.leg_d is None or not self.condensate:
            return [holds, plug, foot]
        terms = {"l": holds, "v": self.condensate[0], "d": self.day}
        full = relation("time until the drip leg is full", riser.leg_d * 24.0, "h", "l / v * d", terms)
        days = relation("days until the drip leg is full", riser.leg_d, "", "l / v", terms)
        return [holds, full, days, plug, foot]

    @cached_property
    def compressor(self) -> list[Value]:
        """The compressor over today's water; nothing where it is not known."""
        back, job = self.found.siphon, self.values.files.job
        if back is None:
            return []
        number, name = back.heights.compressor_m, "compressor over today's water"
        if self.land is not None:
            terms = {"c": self.land.ground(self.land.found.run[0]), "w": self.land.level}
            return [relation(name, number, "m", "c - w", terms)]
        if job.air.rise_m == number:
            return [self.values.files.field(name, number, "m", "air.rise")]
        machine, water_m = job.air.compressor, job.trench.water_elevation_m
        stands_m = machine.elevation_m if machine else None
        if stands_m is not None and water_m is not None:
            high = self.values.files.field(
                "compressor's elevation", stands_m, "m", "air.compressor.elevation"
            )
            low = self.values.files.field("the water's elevation", water_m, "m", "trench.water_elevation")
        else:
            trunk = self.values.line.trunk
            high = given("start of the trunk", trunk[0].start_elevation_m or 0.0, "m", "job.toml, air.trunk")
            low = given("end of the trunk", trunk[-1].end_elevation_m or 0.0, "m", "job.toml, air.trunk")
        return [relation(name, number, "m", "c - w", {"c": high, "w": low})]

    def low(self) -> list[Value]:
        """Return how far the compressor stands under today's water and under the highest, and the crest over that."""
        back = self.found.siphon
        if back is None or not self.compressor:
            return []
        compressor_m, high_m = back.heights.compressor_m, back.heights.high_water_m
        terms = {"h": self.high_water, "c": self.compressor[0]}
        found = [relation("compressor under the highest water", high_m - compressor_m, "m", "h - c", terms)]
        if compressor_m < 0.0:
            found.insert(
                0, relation("compressor under today's water", -compressor_m, "m", "-c", {"c": terms["c"]})
            )
        if self.crest and back.heights.crest_m is not None:
            found.append(relation("crest over the highest water", back.heights.crest_m - high_m, "m", "k - h",
                                  {"k": self.crest[0], "h": self.high_water}))  # fmt: skip
        return found

    @cached_property
    def crest(self) -> list[Value]:
        """The highest place of the line over today's water; nothing where it is not known."""
        back, line = self.found.siphon, self.values.line
        if back is not None and back.heights.crest_m is not None and self.land is not None:
            return self.land.crest(back.heights.crest_m)
        if (
            back is None
            or back.heights.crest_m is None
            or not self.compressor
            or back.heights.crest_station_m is not None
        ):
            return []
        terms = {"c": self.compressor[0]}
        names = []
        for k, piece in enumerate(line.trunk, start=1):
            for end, height_m in (("start", piece.start_elevation_m), ("end", piece.end_elevation_m)):
                if height_m is not None:
                    symbol = f"{end[0]}{k}"
                    field = f"air.trunk[{k}].{end}_elevation"
                    terms[symbol] = self.values.files.field(f"{end} of trunk piece {k}", height_m, "m", field)
                    names.append(symbol)
        if "s1" not in terms:
            return []
        machine, base = self.values.files.job.air.compressor, "s1"
        if machine is not None and machine.elevation_m is not None:
            base, field = "e", "air.compressor.elevation"
            terms[base] = self.values.files.field("compressor's elevation", machine.elevation_m, "m", field)
        top = f"max({', '.join(names)})"
        return [
            relation(
                "highest place of the line over today's water",
                back.heights.crest_m,
                "m",
                f"{top} - {base} + c",
                terms,
            )
        ]

    @cached_property
    def crest_under(self) -> list[Value]:
        """How far the highest place of the line lies under today's water; nothing where it does not."""
        if not self.crest or self.crest[0].number >= 0.0:
            return []
        name = "highest place of the line under today's water"
        return [relation(name, -self.crest[0].number, "m", "-k", {"k": self.crest[0]})]

    @cached_property
    def loop_margin(self) -> list[Value]:
        """How far the top of a riser loop stands over the highest water."""
        return [plain_constant("margin of a riser loop", LOOP_MARGIN_M, "m", PRACTICE)]

    @cached_property
    def flood(self) -> list[Value]:
        """The water that would run back at today's level and at the highest, and when the line is full of it."""
        back = self.found.siphon
        if back is None or back.fill_s is None:
            return []
        words = "the flow at which the height over the compressor is lost in branches and trunk full of water"
        flows = [
            drawn(
                f"water that would run back, {when}",
                flow_m3_s,
                "m3_s",
                words,
                source="Weisbach, with the friction of Churchill 1977",
            )
            for when, flow_m3_s in (
                ("today's level", back.flow_m3_s),
                ("the highest water", back.high_flow_m3_s),
            )
        ]
        holds = summed("water in trunk, lines and branches", line_volume_m3(self.values.line), "m3",
                       "length times area of every pipe")  # fmt: skip
        name, fill_s = "time until the line is full", back.fill_s
        whole = relation(f"{name}, not rounded", fill_s, "s", "V / max(a, b)",
                         {"V": holds, "a": flows[0], "b": flows[1]})  # fmt: skip
        minute = plain_constant("a minute", 60.0, "s", "definition")
        fills = [
            relation(name, float(max(ceil(fill_s), 1)), "s", "max(ceil(t), 1)", {"t": whole},
                     words="told to the next whole second"),
            relation(name, float(ceil(fill_s / 60.0)), "min", "ceil(t / m) * m", {"t": whole, "m": minute},
                     words="told to the next whole minute"),
        ]  # fmt: skip
        return [*flows, *fills]

    @cached_property
    def loop(self) -> list[Value]:
        """The top of a riser loop over the compressor, and over today's water."""
        back = self.found.siphon
        if back is None or back.loop_over_compressor_m is None or not self.compressor:
            return []
        margin = self.loop_margin[0]
        top = relation("top of the riser loop over today's water", back.loop_over_water_m, "m", "h + m",
                       {"h": self.high_water, "m": margin})  # fmt: skip
        over = relation("top of the riser loop over the compressor", back.loop_over_compressor_m, "m", "t - c",
                        {"t": top, "c": self.compressor[0]})  # fmt: skip
        return [over, top]

    def barb(self, item: BarbLoss) -> Value:
        """Return what the barbs of a branch cost at its flow."""
        network, point = self.values.network, self.values.air.balanced
        branch, of = network.branch(item.name), f"of branch {item.name}"
        flow = self.values.branch_flow(point, item.name)
        if not flow:
            return given(f"barbs {of}", item.pressure_pa, "pa", "no air passes them")
        terms = {"n": self.parts.barbs(item), "K": self._barb_heads(item, flow[0]), "q": flow[0], "r": network.standard,
                 "D": branch["D"], "d": self._density(item)}  # fmt: skip
        return relation(
            f"barbs {of}", item.pressure_pa, "pa", f"n * K * (q * r / (d * {QUARTER_PI} * D^2))^2 * d / 2", terms,
            words="velocity heads of the tubing; not in the network unless the job lists them", source="Weisbach",
        )  # fmt: skip

    def _density(self, item: BarbLoss) -> Value:
        network, point = self.values.network, self.values.air.balanced
        port, water = self.values.port(point, item.name), network.branch(item.name)["T"]
        number = density_clapeyron_1834(port.number + network.ambient.number, water.number + 273.15)
        return relation(f"density of the air in branch {item.name}", number, "kg_m3",
                        "density_clapeyron_1834(a + p, T)",
                        {"a": network.ambient, "p": port, "T": water})  # fmt: skip

    def _barb_heads(self, item: BarbLoss, flow: Value) -> Value:
        """Return the velocity heads of the tubing that one barb costs."""
        network, of = self.values.network, f"of a barb of branch {item.name}"
        branch = network.branch(item.name)
        bore_m, length_m = barb_of(item.tubing_bore_m)
        reynolds = network.reynolds(f"of branch {item.name}, barbs", flow, branch["D"], branch["T"])
        narrow, long = self.bore(item), given(f"length {of}", length_m, "m", "sources/barbs.csv")
        rough = plain_constant(f"roughness {of}", BARB_ROUGHNESS_M, "m", "smooth plastic or brass")
        number = friction_factor_churchill_1977(
            reynolds.number * branch["D"].number / bore_m, BARB_ROUGHNESS_M / bore_m
        )
        friction = relation(
            f"friction factor {of}", number, "", "friction_factor_churchill_1977(Re * D / d, e / d)",
            {"Re": reynolds, "D": branch["D"], "d": narrow, "e": rough},
        )  # fmt: skip
        losses = "contraction_loss_number_crane_2009(d^2 / D^2) + expansion_loss_number_borda_1766(d^2 / D^2)"
        return relation(
            f"velocity heads {of}", item.loss_number, "",
            f"resistance_number_crane_2009(f, l, d, {losses}) / (d / D)^4",
            {"f": friction, "l": long, "d": narrow, "D": branch["D"]},
        )  # fmt: skip

    def bore(self, item: BarbLoss) -> Value:
        """Return the bore of a barb."""
        return given(
            f"bore of a barb of {item.nominal}", item.barb_bore_m, "m", "sources/barbs.csv: measure yours"
        )
