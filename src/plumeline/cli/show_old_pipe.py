"""A pipe that is in the ground already, for people."""

from __future__ import annotations

from plumeline.cli.figures import EMPTY, air_column, air_unit, column, gauge_unit
from plumeline.cli.tables import listing, table
from plumeline.pairs import said
from plumeline.stages.air.old_pipe import OldPipeProof
from plumeline.units import show, show_air
from plumeline.units.showing import System

MOST_KINDS = 6


def old_pipe_blocks(found: OldPipeProof | None, units: System) -> list[str]:
    """Return the texts of an old pipe; none where the job has none."""
    if found is None:
        return []
    blocks = [listing(_figures(found, units), title="Pipe in the ground"), _kinds(found, units)]
    if found.bands is not None:
        blocks.append(_bands(found, units))
    return blocks


def _figures(found: OldPipeProof, units: System) -> list[tuple[str, str]]:
    high = "100 psi" if units == "us" else "690 kPa"
    rows = [("verdict", said(found.verdict_words, units)), ("length", show(found.length_m, "m", units))]
    if found.print_line:
        rows.append(
            ("print line", f"{found.print_line}{'' if found.printed else ' (does not name one kind)'}")
        )
    band = (
        f"{_bore(found.bore_m, units)} ({_bore(found.bore_p05_m, units)} to {_bore(found.bore_p95_m, units)})"
    )
    rows.append(("bore, 90 % band", band))
    if found.leak is not None and found.leak_share_fraction is not None:
        rows.append(
            (
                "leak in the hold test",
                _leak(found.leak.leak_standard_m3_s, found.leak.leak_se_standard_m3_s, units),
            )
        )
        rows.append(
            (
                "leak at the working pressure",
                f"{_air(found.leak_at_working_standard_m3_s or 0.0, units)}, "
                f"{100.0 * found.leak_share_fraction:.2g} % of the "
                "compressor's air",
            )
        )
    rows += [
        ("works at", show(found.working_pressure_pa, "pa", units)),
        ("test it at no more than", show(found.test_pressure_pa, "pa", units)),
        (
            "energy in it then",
            f"{found.test_energy_j / 1000.0:.2g} kJ; at {high} {found.high_test_energy_j / 1000.0:.0f} kJ: never",
        ),
        (
            "rating, at the soil's heat",
            EMPTY if found.rating_pa is None else show(found.rating_pa, "pa", units),
        ),
    ]
    return rows


def _bore(bore_m: float, units: System) -> str:
    return f"{bore_m / 0.0254:.3f} in" if units == "us" else f"{1000.0 * bore_m:.1f} mm"


def _air(flow_m3_s: float, units: System) -> str:
    """Return a small flow of standard air."""
    return f"{flow_m3_s / 4.719474432e-4:.3f} scfm" if units == "us" else show_air(flow_m3_s, units)


def _leak(flow_m3_s: float, error_m3_s: float, units: System) -> str:
    return f"{_air(flow_m3_s, units)} ± {_air(error_m3_s, units)} (one standard error)"


def _kinds(found: OldPipeProof, units: System) -> str:
    rows = [
        (item.name, item.words, _bore(item.bore_m, units), f"{100.0 * item.probability:.1f} %")
        for item in found.classes[:MOST_KINDS]
        if item.probability > 5e-4
    ]
    left = 1.0 - sum(item.probability for item in found.classes[: len(rows)])
    if left > 5e-4:
        rows.append(("others", "", "", f"{100.0 * left:.1f} %"))
    return table(("pipe", "kind", "bore", "chance"), rows, align="llrr", title="What it may be")


def _bands(found: OldPipeProof, units: System) -> str:
    bands = found.bands
    assert bands is not None
    unit, enough = gauge_unit(units), round(100.0 * bands.enough_probability)
    rows = [
        (name, *(column(value, "pa", units, 2) for value in (band.p05_pa, band.p50_pa, band.p95_pa)))
        for name, band in (
            (f"compressor, {unit}", bands.compressor),
            (f"manifold, {unit}", bands.manifold),
            (f"lost in the trunk, {unit.replace('g', '', 1) if unit == 'psig' else unit}", bands.trunk_drop),
        )
    ]
    rows += [
        (
            f"air of {flow.name}, {air_unit(units)}".replace("\n", " "),
            *(
                air_column(value, units)
                for value in (flow.p05_standard_m3_s, flow.p50_standard_m3_s, flow.p95_standard_m3_s)
            ),
        )
        for flow in bands.flows
    ]
    title = f"Over {bands.bore_count} bores it may have, valves set for each; wanted air in {enough} %"
    return table(("", "5 %", "middle", "95 %"), rows, title=title)
