"""The verdict on a pipe that is in the ground already, over every bore that it may have."""

from __future__ import annotations

from dataclasses import replace

from plumeline.errors import ModelError
from plumeline.notices import Notice, caution, danger, note
from plumeline.pairs import pair
from plumeline.science.air import stored_energy_crowl_1992
from plumeline.stages.air.cautions import HIGH_TEST_PA
from plumeline.stages.air.line import rating_fraction
from plumeline.stages.air.old_pipe import (
    Belief,
    FlowBand,
    LineBands,
    OldPipeProof,
    PressureBand,
    Verdict,
    bore_nodes,
    bore_quantile_m,
    hold_of,
    quantile,
)
from plumeline.stages.air.pipe_classes import OTHER
from plumeline.stages.air.proving import Leak, pipe_volume_m3, trap_words
from plumeline.stages.air.results import OperatingPoint
from plumeline.stages.air.solving import Line, solve_balanced, unreachable
from plumeline.stages.air.words import psi

LEAK_SHARE_FRACTION = 0.05
"""Share of the compressor's air from which a leak is mended first: judgement."""
REPLACE_SHARE_FRACTION = 0.25
"""Share from which the pipe is given up: judgement."""
LEAST_ENOUGH_PROBABILITY = 0.5
"""Chance of carrying the wanted air under which the pipe is given up: judgement."""
LIKELY_PROBABILITY = 0.05
TEST_FACTOR_NUMBER = 1.5
SURPRISING_NUMBER = 3.0


def prove(
    belief: Belief, line: Line, balanced: OperatingPoint, wanted_flow_standard_m3_s: float, relief_pa: float
) -> OldPipeProof:
    """Return what an old pipe is worth in a line.

    Args:
        belief: what is believed of it.
        line: the line, its trunk with the middle bore.
        balanced: the line's point with the valves set.
        wanted_flow_standard_m3_s: wanted air of a diffuser of share 1.
        relief_pa: setting of the relief valve, gauge.
    """
    working_pa = balanced.compressor_pressure_pa
    bands = _bands(belief, line, wanted_flow_standard_m3_s, relief_pa) if belief.pieces else None
    if bands is not None:
        working_pa = max(working_pa, bands.compressor.p50_pa)
    leak = hold_of(belief)
    at_working = None if leak is None else leak.at(working_pa)
    share = None if at_working is None else at_working / balanced.flow_standard_m3_s
    test_pa = min(TEST_FACTOR_NUMBER * working_pa, relief_pa)
    volume_m3 = pipe_volume_m3(belief.old.length_m, belief.bore_m)
    ambient_pa = belief.ambient_pressure_pa
    given = belief.old.hold_test
    proof = OldPipeProof(
        length_m=belief.old.length_m,
        print_line=belief.old.print_line,
        printed=belief.printed,
        classes=belief.classes,
        bore_m=belief.bore_m,
        bore_p05_m=bore_quantile_m(belief.classes, 0.05),
        bore_p95_m=bore_quantile_m(belief.classes, 0.95),
        leak=leak,
        leak_at_working_standard_m3_s=at_working,
        leak_share_fraction=share,
        working_pressure_pa=working_pa,
        test_pressure_pa=test_pa,
        test_energy_j=stored_energy_crowl_1992(volume_m3, test_pa + ambient_pa, ambient_pa),
        high_test_energy_j=stored_energy_crowl_1992(volume_m3, HIGH_TEST_PA + ambient_pa, ambient_pa),
        proven_pressure_pa=None if given is None else given.start_pressure_pa / TEST_FACTOR_NUMBER,
        rating_pa=_rating_pa(belief, line.soil_degc),
        bands=bands,
        verdict=Verdict.UNPROVEN,
        verdict_words="",
        notices=(),
        assumptions=_assumptions(belief),
    )
    verdict, words = _verdict(proof)
    proof = replace(proof, verdict=verdict, verdict_words=words)
    return replace(proof, notices=_notices(belief, proof))


def _bands(belief: Belief, line: Line, wanted_m3_s: float, relief_pa: float) -> LineBands:
    """Return the operating point over the bores the old pipe may have, the valves set anew for each."""
    shut = unreachable(line)
    solved: list[tuple[OperatingPoint, float]] = []
    enough = lost = 0.0
    nodes = bore_nodes(belief.classes)
    for bore_m, weight in nodes:
        trunk = tuple(
            replace(piece, bore_m=bore_m) if index in belief.pieces else piece
            for index, piece in enumerate(line.trunk)
        )
        try:
            point, _ = solve_balanced(replace(line, trunk=trunk), "valves set", shut)
        except ModelError:
            lost += weight
            continue
        solved.append((point, weight))
        if _enough(point, line, wanted_m3_s, relief_pa):
            enough += weight
    if not solved:
        raise ModelError(
            "no bore that the old pipe may have lets the compressor reach a diffuser.",
            remedy="Look again at its length and the open-end test, or lay a new line.",
            place="air.old_pipe",
        )
    return LineBands(
        compressor=_pressure_band([(point.compressor_pressure_pa, weight) for point, weight in solved]),
        manifold=_pressure_band([(point.manifold_pressure_pa, weight) for point, weight in solved]),
        trunk_drop=_pressure_band([(point.trunk_drop_pa, weight) for point, weight in solved]),
        flows=tuple(
            FlowBand(
                spec.name,
                *(
                    quantile(
                        [(point.branch(spec.name).flow_standard_m3_s, weight) for point, weight in solved],
                        share,
                    )
                    for share in (0.05, 0.5, 0.95)
                ),
            )
            for spec in line.branches
        ),
        enough_probability=enough / (lost + sum(weight for _, weight in solved)),
        bore_count=len(nodes),
    )


def _pressure_band(pairs: list[tuple[float, float]]) -> PressureBand:
    return PressureBand(*(quantile(pairs, share) for share in (0.05, 0.5, 0.95)))


def _enough(point: OperatingPoint, line: Line, wanted_m3_s: float, relief_pa: float) -> bool:
    """Return whether every diffuser gets its wanted air, within what machine and relief valve allow."""
    limit_pa = min(relief_pa, line.machine.max_pressure_pa or relief_pa)
    return point.compressor_pressure_pa <= limit_pa and all(
        branch.flow_standard_m3_s >= 0.98 * wanted_m3_s * spec.share_number
        for branch, spec in zip(point.branches, line.branches, strict=True)
    )


def _rating_pa(belief: Belief, soil_degc: float) -> float | None:
    """Return the least rating [Pa] of the likely kinds, at the soil's temperature; None where none is known."""
    found = []
    for item in belief.classes:
        if item.probability < LIKELY_PROBABILITY or item.rating_pa is None:
            continue
        share = rating_fraction(item.material, soil_degc)
        found.append(item.rating_pa * (0.0 if share is None else share))
    return min(found) if found else None


def _verdict(proof: OldPipeProof) -> tuple[Verdict, str]:
    """Return what to do, and why, the gravest reason first."""
    share, bands, leak = proof.leak_share_fraction, proof.bands, proof.leak
    if share is not None and share > REPLACE_SHARE_FRACTION:
        return Verdict.REPLACE, f"replace it: {_share(share)} of the compressor's air leaks away"
    if bands is not None and bands.enough_probability < LEAST_ENOUGH_PROBABILITY:
        return (
            Verdict.REPLACE,
            f"lay a larger one: only {100.0 * bands.enough_probability:.0f} % of the bores it may have "
            f"carry the wanted "
            "air",
        )
    if share is not None and share > LEAK_SHARE_FRACTION:
        return Verdict.LEAK, f"find and mend the leak first: {_share(share)} of the compressor's air is lost"
    if proof.classes[0].name == OTHER:
        like = _bore(proof.classes[0].bore_m)
        return (
            Verdict.UNPROVEN,
            f"not to be trusted yet: it acts like a bore of {like}, no pipe's; find what chokes it",
        )
    if leak is None or proof.proven_pressure_pa is None:
        words = f"not proven: make a hold test at {psi(proof.test_pressure_pa)} before it is trusted"
        return Verdict.UNPROVEN, words
    limits = [proof.proven_pressure_pa, *([] if proof.rating_pa is None else [proof.rating_pa])]
    limit_pa = min(limits)
    if limit_pa < 0.999 * proof.working_pressure_pa:
        why = "its rating" if limit_pa != proof.proven_pressure_pa else "two thirds of what it held"
        words = f"usable below {psi(limit_pa)} ({why}); this line works at {psi(proof.working_pressure_pa)}"
        if limit_pa == proof.proven_pressure_pa:
            words += f": hold it at {psi(proof.test_pressure_pa)}"
        return Verdict.BELOW, words
    if proof.rating_pa is None:
        return (
            Verdict.UNPROVEN,
            f"not to be trusted yet: it holds ({_share(share or 0.0)} of the compressor's air leaks at the working "
            "pressure), but its rating is not known before the print line is read",
        )
    return (
        Verdict.USABLE,
        f"usable: {_share(share or 0.0)} of the compressor's air leaks at the working pressure",
    )


def _share(share_fraction: float) -> str:
    return f"{100.0 * share_fraction:.1f} %" if share_fraction < 0.1 else f"{100.0 * share_fraction:.0f} %"


def _energy(energy_j: float) -> str:
    return f"{energy_j / 1000.0:.2g} kJ"


def _notices(belief: Belief, proof: OldPipeProof) -> tuple[Notice, ...]:
    """Return what is to be said of an old pipe."""
    return (
        note("old-pipe-verdict", f"The pipe in the ground: {proof.verdict_words}."),
        *_print_notices(belief),
        *_bore_notices(belief, proof),
        *_leak_notices(belief, proof),
        _test_caution(proof),
    )


def _print_notices(belief: Belief) -> list[Notice]:
    notices = []
    if belief.print_unread:
        words = (
            f"No pipe of the table agrees with the print line {belief.old.print_line!r}: size, ratio and standard are "
            "looked for."
        )
        notices.append(caution("old-pipe-print-unread", words))
    elif not belief.printed:
        words = (
            "Dig up a foot of the pipe and read the print line on its wall: it beats every test. “3/4 "
            "inch” alone spans "
            f"{pair('0.68 to 0.89 in', '17 to 23 mm')}, a factor of 3.7 in the pressure lost."
        )
        notices.append(caution("old-pipe-print-line", words))
    return notices


def _bore_notices(belief: Belief, proof: OldPipeProof) -> list[Notice]:
    notices = []
    lead = belief.classes[0]
    if lead.name == OTHER:
        words = (
            f"No size of the table fits the open-end test: it acts like a clean bore of "
            f"{_bore(lead.bore_m)}. Crushed, "
            "standing water, a valve half shut, or a longer way than was measured?"
        )
        notices.append(danger("old-pipe-none-fits", words))
    elif belief.surprise_number is not None and abs(belief.surprise_number) > SURPRISING_NUMBER:
        way = "more" if belief.surprise_number > 0.0 else "less"
        says = "The print line says" if belief.printed else "The likeliest is"
        kept = " The print line is kept;" if belief.printed else " Not one kind fits well;"
        words = (
            f"{says} {lead.words}, yet the open-end test read {way} than that pipe can show "
            f"({abs(belief.surprise_number):.0f} standard errors).{kept} look for water, a crushed place or another "
            "pipe spliced in, and check the flow."
        )
        notices.append(caution("old-pipe-disagrees", words))
    if not belief.printed and any(
        item.material == "pvc" and item.probability > LIKELY_PROBABILITY for item in belief.classes
    ):
        chance = sum(item.probability for item in belief.classes if item.material == "pvc")
        words = (
            f"It may be PVC (chance {100.0 * chance:.0f} %), which shatters under compressed gas and "
            f"whose standards are for "
            "liquids: find out before air goes in."
        )
        notices.append(caution("old-pipe-maybe-pvc", words))
    if proof.bands is not None and proof.bands.enough_probability < 0.9:
        words = (
            "Over the bores it may have, the chance that it carries the wanted air is "
            f"{100.0 * proof.bands.enough_probability:.0f} %."
        )
        notices.append(caution("old-pipe-may-starve", words))
    return notices


def _bore(bore_m: float) -> str:
    return pair(f"{bore_m / 0.0254:.2f} in", f"{1000.0 * bore_m:.1f} mm")


def _leak_notices(belief: Belief, proof: OldPipeProof) -> list[Notice]:
    leak, given = proof.leak, belief.old.hold_test
    if leak is None or given is None:
        return []
    notices = []
    if proof.proven_pressure_pa is not None and given.start_pressure_pa > 1.001 * proof.test_pressure_pa:
        words = (
            f"It was tested at {psi(given.start_pressure_pa)}, over the most for this line, "
            f"{psi(proof.test_pressure_pa)} "
            "(1.5 × working, not over the relief): not again."
        )
        notices.append(danger("old-pipe-tested-high", words))
    seen = _least_seen(leak, proof)
    if seen > LEAK_SHARE_FRACTION:
        words = (
            f"This test can't see a leak under {_share(seen)} of the compressor's air: hold it longer, "
            f"with a finer gauge, and "
            "read the temperature at the end too."
        )
        notices.append(caution("old-pipe-blunt-test", words))
    if given.end_temperature_degc is None:
        words = trap_words(given.start_pressure_pa, given.temperature_degc, belief.ambient_pressure_pa)
        notices.append(note("old-pipe-cooling", words))
    return notices


def _least_seen(leak: Leak, proof: OldPipeProof) -> float:
    """Return the least leak, two standard errors, as a share of the compressor's air."""
    share, flow = proof.leak_share_fraction, proof.leak_at_working_standard_m3_s
    if not share or not flow:
        return 0.0
    return 2.0 * leak.leak_se_standard_m3_s * share / leak.leak_standard_m3_s


def _test_caution(proof: OldPipeProof) -> Notice:
    """Return the caution of every test with air: how high, and why never 100 psi."""
    ratio = proof.high_test_energy_j / proof.test_energy_j
    words = (
        f"Test it with air at {psi(proof.test_pressure_pa)} at most (1.5 × the working "
        f"{psi(proof.working_pressure_pa)}, and "
        "never over the relief valve), people clear of the pipe and its ends, the ends capped and held. Never at "
        f"{pair('100 psi', '690 kPa')}: this pipe would hold {_energy(proof.high_test_energy_j)}, "
        f"{ratio:.0f} times the "
        f"{_energy(proof.test_energy_j)} of the right test (isothermal work less the atmosphere's, Crowl "
        f"1992); gas lets it go "
        "all at once, water does not. ASTM D1785 and D2239 are for water; ask the maker and the local code."
    )
    return caution("old-pipe-test", words)


def _assumptions(belief: Belief) -> tuple[str, ...]:
    words = []
    if not belief.printed:
        words.append(
            "What lies in the ground is weighed by the table buried_pipes (judgement) before the test, "
            "and by Bayes' rule "
            "after it: errors of gauge, flow (5 % where none is given), friction law and bore within a kind (1 %)."
        )
    if belief.old.hold_test is not None:
        words.append("A leak is taken in proportion to the gauge.")
    words.append(
        f"Verdicts: a leak from {100.0 * LEAK_SHARE_FRACTION:.0f} % of the compressor's air, given up from "
        f"{100.0 * REPLACE_SHARE_FRACTION:.0f} % or where under half of the bores carry the air: judgement."
    )
    return tuple(words)
