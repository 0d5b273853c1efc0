"""How the electrician's figures come about: currents, wires, energy, levels over the water."""

from __future__ import annotations

from functools import cached_property

from plumeline.sources import read_table
from plumeline.stages.air.electrical import (
    DATUM_M,
    MONTH_DAYS,
    OUTLET_OVER_DATUM_M,
    POWER_FACTOR_NUMBER,
    RUN_DROP_FRACTION,
    START_DROP_FRACTION,
    Conductor,
    Electrical,
)
from plumeline.workings.air_ends import EndValues
from plumeline.workings.air_points import PRACTICE, PointValues
from plumeline.workings.value import Value, chosen, given, plain_constant, relation

CODE = "NFPA 70 (National Electrical Code), read in secondary sources"
CONDUCTORS = "sources/conductors.csv"
RUN_HOURS = 24.0


class ElectricalValues:
    """The values of the electrician's figures.

    Attributes:
        values: the line at work.
        ends: of its two ends, which know the heights; None where nothing was asked.
        found: the stage's result.
    """

    def __init__(self, values: PointValues, ends: EndValues | None, found: Electrical) -> None:
        self.values, self.ends, self.found = values, ends, found
        self.files = values.files
        self.rows = {row["gauge"]: row for row in read_table("conductors")}

    @cached_property
    def volts(self) -> Value:
        """The voltage that is counted with."""
        number, name, job = self.found.volts_v, "voltage", self.files.job
        if self.values.line.machine.volts_v is not None:
            return self.values.machine_field(name, number, "v", "volts", "volts_v")
        if job.power.volts is not None:
            return self.files.field(name, number, "v", "power.volts_amps")
        return plain_constant(name, number, "v", "the usual voltage: none is known")

    @cached_property
    def running(self) -> Value:
        """The running current of all machines."""
        machine, number, name = self.values.line.machine, self.found.running_current_a, "running current"
        if machine.running_current_a is None:
            return relation(name, number, "a", "motor_current(P, V, c)",
                            {"P": self.values.power, "V": self.volts, "c": self.factor})  # fmt: skip
        one = self.values.machine_field(
            name, machine.running_current_a, "a", "running_current", "running_current_a"
        )
        return self._all(one, number)

    @cached_property
    def factor(self) -> Value:
        """The power factor where the plate is not known."""
        return plain_constant("power factor", POWER_FACTOR_NUMBER, "", "of a small motor: from memory")

    def _all(self, one: Value, number_a: float) -> Value:
        """Return the current of all machines from that of one."""
        if self.values.line.machine.count == 1:
            return one
        return relation(f"{one.name}, all", number_a, "a", "n * I", {"n": self.values.count, "I": one})

    @cached_property
    def starting(self) -> list[Value]:
        """The current of the start, low and high end, and how many times the running one."""
        machine, found = self.values.line.machine, self.found
        if machine.starting_current_a is not None:
            one = self.values.machine_field("starting current", machine.starting_current_a, "a", "starting_current",
                                            "starting_current_a")  # fmt: skip
            return [self._all(one, found.starting_high_a)]
        values: list[Value] = []
        for end, number_a in (("low", found.starting_low_a), ("high", found.starting_high_a)):
            times = plain_constant(f"starting over running current, {end} end", number_a / found.running_current_a, "",
                                   "by kind of motor: from memory")  # fmt: skip
            current = relation(
                f"starting current, {end} end", number_a, "a", "k * I", {"k": times, "I": self.running}
            )
            values += [current, times]
        return [*values[::2], *values[1::2]]

    @cached_property
    def high_start(self) -> Value:
        """The high end of the starting current."""
        return next(value for value in reversed(self.starting) if value.suffix == "a")

    @cached_property
    def continuous(self) -> list[Value]:
        """What conductor and breaker must carry, and the part of it."""
        return [
            relation("counted as continuous", self.found.continuous_current_a, "a", "continuous_current_nec_2023(I)",
                     {"I": self.running}),
            plain_constant("part counted of a load that runs for hours", 1.25, "fraction", f"{CODE}: 210.19, 210.20"),
        ]  # fmt: skip

    @cached_property
    def circuit(self) -> list[Value]:
        """The circuit at hand; nothing where none is known."""
        number = self.found.circuit_current_a
        return (
            [] if number is None else [self.files.field("circuit at hand", number, "a", "power.volts_amps")]
        )

    @cached_property
    def feeder(self) -> list[Value]:
        """The length of the wire; nothing where it is not known."""
        number = self.found.feeder_length_m
        return (
            []
            if number is None
            else [self.files.field("wire from the panel", number, "m", "power.feeder_length")]
        )

    def gauge(self, gauge: str) -> list[Value]:
        """Return a size of wire as a number; nothing where it is none."""
        if not gauge.isdigit():
            return []
        return [given("size of wire, AWG", float(gauge), "", f"{CONDUCTORS}: the name of a row")]

    def wire(self) -> list[Value]:
        """Return length and size of the wire at hand, and the thinnest that is enough."""
        found, values = self.found, list(self.feeder)
        if found.feeder_gauge.isdigit():
            values.append(
                self.files.field("wire at hand, AWG", float(found.feeder_gauge), "", "power.feeder_gauge")
            )
        if found.least_gauge.isdigit():
            words = "the thinnest of the table below that carries the current and keeps both drops"
            values.append(
                chosen(
                    "thinnest wire that is enough, AWG",
                    float(found.least_gauge),
                    "",
                    words,
                    source=CONDUCTORS,
                )
            )
        return values

    @cached_property
    def hours(self) -> Value:
        """The hours of air a day."""
        name = "air a day"
        if self.files.job.costs.running_hours is None:
            return plain_constant(name, RUN_HOURS, "h", "air day and night: the job gives no hours")
        return self.files.field(name, self.found.hours_per_day, "h", "costs.running_hours")

    def energy(self) -> list[Value]:
        """Return a month's energy, its days, what it costs, and its price."""
        found = self.found
        days = plain_constant("days of a month, for the bill", MONTH_DAYS, "", "a round month")
        used = relation("energy of a month", found.energy_month_kwh, "kWh", "P * h * n",
                        {"P": self.values.power, "h": self.hours, "n": days})  # fmt: skip
        if found.energy_month_money is None or found.energy_price_per_kwh is None:
            return [used, days]
        price = self.files.field("price of energy", found.energy_price_per_kwh, "per_kwh", "prices.energy")
        bare = self.files.field("price of a kilowatt hour", found.energy_price_per_kwh, "", "prices.energy")
        cost = relation(
            "cost of a month's energy", found.energy_month_money, "", "E * p", {"E": used, "p": price}
        )
        return [used, days, cost, bare]

    def levels(self) -> dict[str, list[Value]]:
        """Return the levels over today's water, by the row's name."""
        datum = self.found.datum
        over = plain_constant("datum plane over the highest water", DATUM_M, "m", f"{CODE}: article 682")
        rows: dict[str, list[Value]] = {"electrical datum plane": [over]}
        compressor = self._compressor()
        if datum.datum_m is not None and datum.high_water_m is not None and datum.outlet_m is not None:
            high = self.files.field("highest water over today's", datum.high_water_m, "m", "power.high_water")
            plane = relation("electrical datum plane over today's water", datum.datum_m, "m", "h + d",
                             {"h": high, "d": over})  # fmt: skip
            more = plain_constant(
                "outlets over the datum plane", OUTLET_OVER_DATUM_M, "m", f"{CODE}: article 682"
            )
            outlet = relation(
                "outlets over today's water", datum.outlet_m, "m", "p + o", {"p": plane, "o": more}
            )
            rows |= {"electrical datum plane": [plane], "outlets, at the lowest": [outlet]}
            if compressor and datum.clearance_m is not None:
                rows["compressor"] = [relation("compressor against the datum plane", abs(datum.clearance_m), "m",
                                               "abs(c - p)", {"c": compressor[0], "p": plane})]  # fmt: skip
        rows["compressor over today's water"] = compressor
        return rows

    def _compressor(self) -> list[Value]:
        return self.ends.compressor if self.ends is not None else []

    def _ohms(self, wire: Conductor) -> Value:
        row = self.rows[wire.gauge]
        return given(f"resistance of AWG {wire.gauge}", float(row["resistance_ohm_per_m"]), "Ω/m",
                     f"{CONDUCTORS}: {row['source']}")  # fmt: skip

    def drops(self, wire: Conductor) -> list[Value]:
        """Return voltage lost running, its part, and the part at the start; nothing where the length is not known."""
        if not self.feeder or wire.voltage_drop_v is None or wire.voltage_drop_fraction is None:
            return []
        terms = {"I": self.running, "L": self.feeder[0], "R": self._ohms(wire)}
        name = f"lost in AWG {wire.gauge}"
        running = relation(name, wire.voltage_drop_v, "v", "voltage_drop_nec_2023(I, L, R)", terms)
        part = relation(f"part {name}", wire.voltage_drop_fraction, "fraction", "v / V",
                        {"v": running, "V": self.volts})  # fmt: skip
        start = relation(
            f"part {name} at the start", wire.start_drop_fraction or 0.0, "fraction",
            "voltage_drop_nec_2023(I, L, R) / V", {**terms, "I": self.high_start, "V": self.volts},
        )  # fmt: skip
        return [running, part, start]

    @cached_property
    def limits(self) -> list[Value]:
        """What may be lost running, and at the start, of the voltage."""
        return [
            plain_constant(
                "may be lost running", RUN_DROP_FRACTION, "fraction", f"{CODE}: 210.19, a recommendation"
            ),
            plain_constant("may be lost at the start", START_DROP_FRACTION, "fraction", PRACTICE),
        ]

    def longest(self, wire: Conductor) -> Value:
        """Return the longest run of a wire that keeps both drops."""
        run, start = self.limits
        terms = {
            "r": run,
            "s": start,
            "V": self.volts,
            "I": self.running,
            "S": self.high_start,
            "R": self._ohms(wire),
        }
        formula = "min(longest_run_nec_2023(r * V, I, R), longest_run_nec_2023(s * V, S, R))"
        return relation(f"longest run of AWG {wire.gauge}", wire.longest_run_m, "m", formula, terms)

    def breaker(self, wire: Conductor) -> Value:
        """Return the breaker that a wire may have."""
        source = self.rows[wire.gauge]["source"]
        return given(f"breaker for AWG {wire.gauge}", wire.ampacity_a, "a", f"{CONDUCTORS}: {source}")
