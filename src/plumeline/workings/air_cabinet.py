"""How the heat of a compressor's cabinet comes about: what goes in, what goes out, and what would cool it."""

from __future__ import annotations

from functools import cached_property

from plumeline.pairs import said
from plumeline.science.air import density_clapeyron_1834, discharge_temperature_mills_2004
from plumeline.science.cabinet import GRAVITY_M_S2, HEAT_CAPACITY_J_KG_K, OPENING_NUMBER
from plumeline.stages.air import cabinet as box
from plumeline.stages.air.heat import WARM_CABINET_K, HotDay, kelvin
from plumeline.workings.air_points import PRACTICE, PointValues
from plumeline.workings.book import Book
from plumeline.workings.value import Value, balance, given, plain_constant, relation

ASHRAE = "ASHRAE Handbook of Fundamentals 2021, chapters 16 and 18 (from memory)"
HEAT_OUT = "(v + q * r / d) * d * c * x + u * S * x"


class CabinetValues:
    """The values of a cabinet on the hot day.

    Attributes:
        values: the line at work.
        outside: the air outside.
        found: the stage's result for the hot day.
    """

    def __init__(self, values: PointValues, outside: Value, found: HotDay) -> None:
        self.values, self.outside, self.found = values, outside, found
        self.cabinet, self.units = found.cabinet, values.network.units

    def apart(self, name: str, difference_k: float, words: str) -> Value:
        """Return a difference of temperatures in the unit of the system."""
        number, unit = (1.8 * difference_k, "°F apart") if self.units == "us" else (difference_k, "°C apart")
        return given(name, number, unit, words)

    def _own(self, name: str, number: float, suffix: str, key: str, attribute: str, usual: str) -> Value:
        """Return a figure of the cabinet: the job's own, else the usual one."""
        cabinet = self.values.files.job.air.cabinet
        if cabinet is not None and getattr(cabinet, attribute) is not None:
            return self.values.files.field(name, number, suffix, f"air.cabinet.{key}")
        return plain_constant(name, number, suffix, usual)

    @cached_property
    def terms(self) -> dict[str, Value]:
        """What the balance is made of: flow and density of the air, its heat capacity, walls."""
        cabinet = self.values.files.job.air.cabinet
        surface = (cabinet.surface_m2 if cabinet else None) or box.USUAL_SURFACE_M2
        network = self.values.network
        number = density_clapeyron_1834(network.ambient.number, self.outside.number + 273.15)
        density = relation("density of the air outside", number, "kg_m3", "density_clapeyron_1834(a, T)",
                           {"a": network.ambient, "T": self.outside})  # fmt: skip
        return {
            "q": self.values.flow,
            "r": network.standard,
            "d": density,
            "c": plain_constant("heat capacity of air, J/(kg K)", HEAT_CAPACITY_J_KG_K, "", "near 300 K"),
            "u": plain_constant(
                "heat through the walls, W/(m² K)", box.WALL_W_M2_K, "", "sheet metal: ASHRAE, from memory"
            ),
            "S": self._own(
                "walls and roof", surface, "m2", "surface", "surface_m2", f"a cube of 2 ft: {PRACTICE}"
            ),
        }

    def waste(self, name: str, rise: Value, rise_k: float) -> Value:
        """Return the heat that stays in the cabinet: the power less what the pressed air takes along."""
        values, network = self.values, self.values.network
        ratio = (values.compressor.number + network.ambient.number) / (
            network.ambient.number - self.found.filter_loss_pa
        )
        intake_k, efficiency = self.outside.number + 273.15 + rise_k, values.compression_efficiency.number
        hot_k = discharge_temperature_mills_2004(intake_k, ratio, efficiency) - intake_k
        mass_kg_s = values.flow.number * network.standard.number
        least_w = box.LEAST_WASTE_FRACTION * values.power.number
        number = max(values.power.number - mass_kg_s * HEAT_CAPACITY_J_KG_K * hot_k, least_w)
        own = "the loss of a small motor, whatever the curve says: from memory"
        terms = {
            "P": values.power, "T": self.outside, "x": rise, "p": values.compressor, "a": network.ambient,
            "e": values.compression_efficiency, "q": values.flow, "r": network.standard, "c": self.terms["c"],
            "f": given("loss of the dirty filter", self.found.filter_loss_pa, "pa", PRACTICE),
            "l": plain_constant("part of the power that stays at least", box.LEAST_WASTE_FRACTION, "", own),
        }  # fmt: skip
        heated = "discharge_temperature_mills_2004(T + x, (p + a) / (a - f), e) - (T + x)"
        return relation(name, number, "w", f"max(P - q * r * c * ({heated}), l * P)", terms)

    @cached_property
    def sun(self) -> Value:
        """What the sun adds."""
        if self.cabinet.shaded:
            return given("sun on the cabinet", 0.0, "w", "job.toml, air.cabinet.shade")
        terms = {
            "u": self.terms["u"],
            "S": self.terms["S"],
            "a": plain_constant("part of the sun that paint takes", box.ABSORBED_FRACTION, "", "from memory"),
            "I": plain_constant(
                "sun, mean over all walls, W/m²", box.SUN_W_M2, "", "a high sun of 900 W/m²: from memory"
            ),
            "h": plain_constant(
                "heat transfer outside, W/(m² K)", box.OUTSIDE_W_M2_K, "", "ASHRAE, from memory"
            ),
        }
        return relation(
            "sun on the cabinet", self.cabinet.sun_heat_w, "w", "u * S * a * I / h", terms, source=ASHRAE
        )

    @cached_property
    def _rise_given(self) -> Value:
        return self.apart("its air over the air outside", self.cabinet.rise_k, "")

    @cached_property
    def waste_now(self) -> Value:
        """The heat of the compressor at the rise that comes about."""
        return self.waste("heat of the compressor in its cabinet", self._rise_given, self.cabinet.rise_k)

    @cached_property
    def through(self) -> Value:
        """The air that moves through it, by fan or by its own warmth."""
        cabinet = self.values.files.job.air.cabinet
        height = (cabinet.vent_height_m if cabinet else None) or box.USUAL_HEIGHT_M
        fan = (cabinet.fan_flow_m3_s if cabinet else None) or 0.0
        terms = {
            "F": self._own("its fan", fan, "intake", "fan_flow", "fan_flow_m3_s", "no fan: none is given"),
            "A": self._own("free openings, low and high each", self.cabinet.vent_area_m2, "m2", "vent_area",
                           "vent_area_m2", f"a louvre of 60 sq in: {PRACTICE}"),
            **self._draught(height, self._rise_given),
        }  # fmt: skip
        formula = "max(F, C * A * sqrt(g * h * x / (T + x + 273.15)))"
        return relation(
            "air through the cabinet", self.cabinet.vent_flow_m3_s, "intake", formula, terms, source=ASHRAE
        )

    def _draught(self, height_m: float, rise: Value) -> dict[str, Value]:
        return {
            "C": plain_constant("discharge of an opening", OPENING_NUMBER, "", ASHRAE),
            "g": plain_constant("gravity", GRAVITY_M_S2, "m/s²", "standard gravity"),
            "h": self._own("from the low openings to the high ones", height_m, "m", "vent_height",
                           "vent_height_m", PRACTICE),
            "x": rise,
            "T": self.outside,
        }  # fmt: skip

    @cached_property
    def rise(self) -> Value:
        """How much warmer its air is than the air outside."""
        at = self._rise_given
        total = relation("heat into the cabinet", self.waste_now.number + self.sun.number, "w", "W + s",
                         {"W": self.waste_now, "s": self.sun})  # fmt: skip
        return balance(
            at.name, at.number, at.suffix, HEAT_OUT, {**self.terms, "v": self.through, "x": at}, total,
            words="what goes out with the air and through the walls is what comes in", source=ASHRAE,
        )  # fmt: skip

    @property
    def out(self) -> list[Value]:
        """What leaves by air, and through the walls."""
        terms = {**self.terms, "v": self.through, "x": self.rise}
        air = {name: terms[name] for name in ("v", "q", "r", "d", "c", "x")}
        return [
            relation("heat out of the cabinet by air", self.cabinet.by_air_w, "w", "(v + q * r / d) * d * c * x", air),
            relation("heat out of the cabinet through its walls", self.cabinet.by_walls_w, "w", "u * S * x",
                     {name: terms[name] for name in ("u", "S", "x")}),
        ]  # fmt: skip

    @cached_property
    def wanted(self) -> list[Value]:
        """The rise that fan and openings are sized for, that fan, and those openings."""
        rise_k, cabinet = self.cabinet.wanted_rise_k, self.values.files.job.air.cabinet
        height = (cabinet.vent_height_m if cabinet else None) or box.USUAL_HEIGHT_M
        goal = self.apart("rise that is wanted", rise_k, f"the low end of {PRACTICE}")
        waste = self.waste("heat of the compressor at the wanted rise", goal, rise_k)
        terms = {**self.terms, "x": goal, "W": waste, "s": self.sun}
        fan = relation(
            "fan that holds the wanted rise", self.cabinet.fan_flow_wanted_m3_s or 0.0, "intake",
            "max((W + s - u * S * x) / (d * c * x) - q * r / d, 0)", terms, words="nothing moves by itself",
            source=ASHRAE,
        )  # fmt: skip
        vent = relation(
            "free openings that hold the wanted rise, low and high each", self.cabinet.vent_area_wanted_m2 or 0.0, "m2",
            "v / (C * sqrt(g * h * x / (T + x + 273.15)))", {"v": fan, **self._draught(height, goal)}, source=ASHRAE,
        )  # fmt: skip
        return [goal, fan, vent]


def cabinet_book(book: Book, values: CabinetValues) -> None:
    """Say what the rows of a cabinet and the notices on it may show; nothing where there is none."""
    found = values.cabinet
    if found.fan_flow_wanted_m3_s is None:
        return
    goal, fan, vent = values.wanted
    rows: dict[str, list[Value]] = {
        "its air over the air outside": [values.rise],
        "heat into it": [values.waste_now, values.sun],
        "heat out of it": values.out,
        "air through it": [values.through],
        f"fan for {said(kelvin(found.wanted_rise_k), values.units)}": [goal, fan],
        "or free openings, low and high": [vent],
    }
    for name, cell in rows.items():
        book.at("part", "Hot day, dirty filter", name, values=cell)
    usual = values.apart("rise that is usual, high end", WARM_CABINET_K, PRACTICE)
    for code in ("air-cabinet-assumed", "air-hot-cabinet"):
        book.at("notice", code, values=[values.rise, goal, usual, fan, vent])
