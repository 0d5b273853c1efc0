"""How the counts and sizes in the parts lists of the line's two ends come about, and what stands on the labels."""

from __future__ import annotations

from plumeline.stages.air.ends import EndsResult
from plumeline.stages.air.proving import GAUGE_SPANS_PA
from plumeline.stages.air.results import MANIFOLD
from plumeline.stages.air.tubing import COIL_M, BarbLoss, nominal_of
from plumeline.stages.air.valve_box import GAUGE_SHARE_FRACTION, MACHINE, METRIC_SPANS_PA, PartRow
from plumeline.workings.air_points import PRACTICE, PointValues
from plumeline.workings.air_restart import RestartValues
from plumeline.workings.book import Book
from plumeline.workings.value import Value, chosen, counted, plain_constant, relation

USUAL = f"one of it belongs to the usual set of parts: {PRACTICE}"


class PartValues:
    """The values of the parts lists.

    Attributes:
        values: the line at work.
        found: the stage's result for the two ends.
        restart: values of the stop, for a delay timer; None where no diffuser runs.
    """

    def __init__(self, values: PointValues, found: EndsResult, restart: RestartValues | None) -> None:
        self.values, self.found, self.restart = values, found, restart

    def _hub(self, place: str) -> str:
        return place.partition(" at the end of ")[2] or MANIFOLD

    def _names(self, place: str, size: str = "") -> list[str]:
        """Return the branches of a box; of those, the ones whose barbs have a size."""
        hub, sizes = self._hub(place), {item.name: item.nominal for item in self.found.barbs}
        line = self.values.line
        return [
            spec.name
            for spec in line.branches
            if spec.hangs_from == hub and (not size or sizes[spec.name] == size)
        ]

    def _beyond(self, place: str, size: str = "") -> list[str]:
        """Return the lines that hang from a box; of those, the ones of a size."""
        return [
            item.name
            for item in self.values.line.lines
            if item.hangs_from == self._hub(place)
            and (not size or nominal_of(item.piece.bore_m, item.piece.pipe) == size)
        ]

    def branches(self, place: str, size: str = "", *, lines: bool = False) -> Value:
        """Return how many branches a box has, with the lines beyond it where they count too."""
        names = self._names(place, size) + (self._beyond(place, size) if lines else [])
        return counted("branches of the box", float(len(names)), "", " + ".join(["1"] * len(names)) or "0", {},
                       words=", ".join(names))  # fmt: skip

    def _of_kind(self, place: str, size: str, part: str) -> Value:
        """Return how many branches of a box have a part: a valve of a kind stands in those of that kind alone."""
        kind = part.removesuffix(" valve")
        names = [
            name
            for name in self._names(place, size)
            if kind == part or self.values.network.spec(name).valve == kind
        ]
        return counted("branches of the box with it", float(len(names)), "", " + ".join(["1"] * len(names)) or "0", {},
                       words=", ".join(names))  # fmt: skip

    def barbs(self, item: BarbLoss) -> Value:
        """Return how many barbs a branch has."""
        air, name = self.values.files.job.air, f"coil of tubing, branch {item.name}"
        if air.coil_length_m is None:
            coil = plain_constant(name, COIL_M, "m", PRACTICE)
        else:
            coil = self.values.files.field(name, air.coil_length_m, "m", "air.coil_length")
        return relation(
            f"barbs of branch {item.name}", float(item.count), "", "2 + max(ceil(L / c - 0.01) - 1, 0)",
            {"L": self.values.network.length(item.name), "c": coil},
            words="one at each end, and a coupling for each coil after the first; a coil is not a hundredth short",
        )  # fmt: skip

    def joins(self, place: str, size: str) -> Value:
        """Return how many couplings of a size a box's branches need."""
        names = self._names(place, size)
        items = [item for item in self.found.barbs if item.name in names]
        terms = {f"n{k}": self.barbs(item) for k, item in enumerate(items, start=1)}
        number = sum(item.count - 2 for item in items)
        formula = " + ".join(f"({symbol} - 2)" for symbol in terms) or "0"
        return counted(
            "couplings", float(number), "", formula, terms, words="where one coil ends and the next begins"
        )

    def count(self, row: PartRow) -> Value:
        """Return how many of a part there are."""
        place, size, name = row.place, row.size, f"{row.part}, {row.place}"
        number, n = float(row.count), self.branches
        if place == MACHINE:
            each = (
                row.part in ("relief valve", "check valve for hot air", "unloader valve")
                or "flexible" in row.part
            )
            return self.values.count if each else chosen(name, number, "", USUAL)
        if row.part == "gauge port with its own cock":
            return counted(name, number, "", "n + 1", {"n": n(place)}, words=row.why)
        if row.part == "engraved label":
            return counted(name, number, "", "n", {"n": n(place, lines=True)}, words=row.why)
        if row.part == "barb to thread":
            return counted(name, number, "", "2 * n", {"n": n(place, size)}, words=row.why)
        if row.part == "barbed coupling":
            return self.joins(place, size)
        if row.part == "clamp, all stainless":
            terms = {"n": n(place, size), "j": self.joins(place, size)}
            words = "two for each barb; a coupling has a barb at either side"
            return counted(name, number, "", "2 * (2 * n + 2 * j)", terms, words=words)
        if row.part == "check valve" or (row.part == "union" and row.why.startswith("each branch")):
            return counted(
                name, number, "", "n", {"n": n(place, size, lines=row.part == "union")}, words=row.why
            )
        if row.why.startswith("one for each branch"):
            return counted(name, number, "", "n", {"n": self._of_kind(place, size, row.part)}, words=row.why)
        return chosen(name, number, "", USUAL)

    def size(self, row: PartRow) -> list[Value]:
        """Return the numbers in a part's size that are no names of sizes."""
        if row.part.startswith("header"):
            sizes = dict.fromkeys(
                item.nominal for item in self.found.barbs if item.name in self._names(row.place)
            )
            hub, lines = self._hub(row.place), self.values.line.lines
            sizes |= {
                nominal_of(one.piece.bore_m, one.piece.pipe): None for one in lines if one.hangs_from == hub
            }
            return [self.branches(row.place, size, lines=True) for size in sizes]
        if row.part.startswith("gauge ") and "port" not in row.part:
            relief = self.values.relief if row.place == MACHINE else None
            return self._span(relief)
        if row.part == "relief valve":
            return [self.values.relief]
        if row.part == "delay timer" and self.restart is not None:
            return self.restart.off
        return []

    def _span(self, relief: Value | None) -> list[Value]:
        """Return both ends of a gauge's dial, in psi and in kPa."""
        highest = self.values.highest
        pressure = highest if relief is None or relief.number < highest.number else relief
        zero = plain_constant("where a dial begins", 0.0, "pa", "every plain gauge")
        words = f"the least usual dial whose first three quarters hold {pressure.name}"
        found = [zero]
        for spans, source in (
            (GAUGE_SPANS_PA, "usual dials in psi"),
            (METRIC_SPANS_PA, "EN 837-1, from memory"),
        ):
            fits = (span for span in spans if GAUGE_SHARE_FRACTION * span >= pressure.number)
            found.append(chosen("end of the gauge's dial", next(fits, spans[-1]), "pa", words, source=source))
        return found


def parts_tables(book: Book, parts: PartValues) -> None:
    """Say what the parts lists and the labels may show."""
    values, found = parts.values, parts.found
    for place in dict.fromkeys(row.place for row in found.parts):
        rows = [row for row in found.parts if row.place == place]
        for index, row in enumerate(rows):
            book.at("part", f"Parts: {place}", str(index), "0", values=[parts.count(row)])
            book.at("part", f"Parts: {place}", str(index), "2", values=parts.size(row))
    for index, label in enumerate(found.labels):
        shut = values.air.balanced.branch(label.name).shut
        port = [] if shut else [values.port(values.air.balanced, label.name)]
        cell = [values.network.depth(label.name), values.network.length(label.name), *port]
        book.at("part", "Labels at the valves", str(index), "1", values=cell)
