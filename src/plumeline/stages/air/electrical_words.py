"""The points of the electrician's sheet: what the code asks near water, each to be checked by him."""

from __future__ import annotations

from plumeline.job.document import Answer
from plumeline.notices import Notice, caution, danger
from plumeline.pairs import pair
from plumeline.stages.air.words import feet_depth

FOR_WHOM = (
    "For the licensed electrician. Information only: design, work and approval are his and the authority's. The code "
    "itself was not at hand: what is said of it was read in secondary sources."
)
FIRST_AID = (
    "Somebody in the water who tingles or goes still: do not go in. Cut the power, call for help (911), reach or "
    "throw."
)
THIN_AIR = (
    "The pond lies higher than the elevation up to which motors are rated (NEMA, from memory): thin air cools a "
    "motor worse. Ask the maker what this one gives up there, and keep its cabinet the cooler."
)


def protection_notices(gfci: Answer, has_power: bool) -> list[Notice]:
    """Return what is said of ground-fault protection; without power the outlet is still to be made."""
    if not has_power:
        words = "The outlet that is to be made must have ground-fault protection: have it tested before the start."
        return [caution("electrical-gfci", f"{words} For the licensed electrician.")]
    if gfci is Answer.NO:
        words = (
            "The outlet has no ground-fault protection: it must have it before anybody goes near the water."
        )
        return [danger("electrical-gfci", f"{words} For the licensed electrician.")]
    if gfci is Answer.UNKNOWN:
        words = (
            "Whether the outlet has ground-fault protection is not known: have it tested before the start."
        )
        return [caution("electrical-gfci", words)]
    return []


def checklist(long_cable: bool) -> tuple[str, ...]:
    """Return the points to check.

    Args:
        long_cable: whether the cable is longer than a ground-fault device may have behind it.
    """
    where = (
        f"This cable is long: put the device at the compressor's end, for with over {pair('250 ft', '76 m')} behind "
        "it one listed device trips by itself."
        if long_cable
        else "Put it where a tripped one is seen."
    )
    return (
        "A load of three hours or more counts as 125 % for conductor and breaker (NEC 210.19, 210.20); a motor's "
        "conductor 125 % of the code's table current, its breaker may be larger (430.22, 430.52).",
        "NEC article 682 holds for aeration and fish ponds. The electrical datum plane lies "
        f"{pair('2 ft', '0.61 m')} over the highest water on land, {pair('30 in', '0.76 m')} over the water on a "
        "float; under it nothing that is not made for submersion, no connection either.",
        f"Outlets {pair('12 in', '0.30 m')} or more over that plane, with ground-fault protection (GFCI): 15 and 20 A "
        "outlets always, since 2020 single-phase circuits to 60 A and 150 V to ground too. Test it before every start. "
        f"{where}",
        "A disconnect on land within sight of what it serves. Metal parts bonded; where metal that the current serves "
        f"stands at the water, an equipotential plane {pair('36 in', '0.91 m')} round it, bonded with 8 AWG solid "
        "copper or thicker.",
        f"Cover over the wire (NEC table 300.5): direct-burial cable {pair('24 in', '0.61 m')}, PVC conduit "
        f"{pair('18 in', '0.46 m')}, rigid metal {pair('6 in', '0.15 m')}; a 120 V branch circuit of 20 A or less "
        f"with GFCI {pair('12 in', '0.30 m')}. With the air line in one trench only as the authority allows.",
        "A tripped outlet kills fish. An alarm on pressure or power that calls somebody; no timer or switch between "
        "that a passer-by can turn off; the breaker labelled.",
        "Electric shock drowning: 10 to 15 mA of leaking current in the water paralyses a swimmer. Air alone goes "
        "into the pond; no cord, pump or light with mains voltage where anybody swims. " + FIRST_AID,
    )


def under_todays_plane(compressor_m: float, plane_m: float) -> str:
    """Return the words of a compressor under the datum plane, whatever the highest water is.

    Args:
        compressor_m: compressor over today's water, below zero under it [m].
        plane_m: height of the datum plane over the highest water [m].
    """
    side = "under" if compressor_m < 0.0 else "over"
    stands, short = feet_depth(abs(compressor_m)), feet_depth(plane_m - compressor_m)
    return (
        f"The compressor stands {stands} {side} today's water, {short} or more under the electrical datum plane "
        f"(NEC 682: {feet_depth(plane_m)} over the highest water, which is today's or higher). Nothing electrical "
        "that is not made for it may be there: set it higher, find the flood mark and give power.high_water."
    )
