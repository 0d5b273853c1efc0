"""A profile as it comes from the field, written row by row, and what a document says of it."""

from __future__ import annotations

HEAD = "time,depth_m,temperature_degc,do_mg_l,ph,alkalinity_mg_l,ammonia_mg_l,sulphide_mg_l\n"
DEPTHS_M = (0.3, 1.0, 1.5, 2.0, 3.0, 4.0)
WARMTH_DEGC = (28.0, 27.6, 26.0, 22.0, 18.0, 17.0)
OXYGEN_MG_L = (8.0, 7.6, 6.0, 2.5, 0.1, 0.1)


def rows(time, do_mg_l=OXYGEN_MG_L, warmth_degc=WARMTH_DEGC, depths_m=DEPTHS_M, more=",,,"):
    """Return rows of a profile at one time."""
    return "".join(
        f"{time},{z},{t},{o},{more}\n" for z, t, o in zip(depths_m, warmth_degc, do_mg_l, strict=True)
    )


def codes(document):
    """Return the codes of a document's notices."""
    return {notice["code"] for notice in document["notices"]}


def words_of(document, code):
    """Return the words of the notices of one code."""
    return " ".join(notice["text"] for notice in document["notices"] if notice["code"] == code)
