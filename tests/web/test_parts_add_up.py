"""Parts that a reader will add, or put beside each other, come to the whole that the page shows."""

import pytest
from tests.web.shown_lines import shown_value


def shown(browser, stage, units):
    rows = browser.get(f"/api/v1/ponds/{browser.pond}/workings/{stage}?units={units}").json()
    return {row["key"]: row for row in rows}


@pytest.mark.parametrize("units", ["us", "si"])
def test_oxygen_there_missing_and_over_come_to_saturation(shared, units):
    """In the pond + missing − over = at saturation, to half of the last digit of each."""
    rows = shown(shared, "reading", units)
    names = (
        "oxygen-in-the-pond",
        "oxygen-missing-to-saturation",
        "oxygen-over-saturation",
        "oxygen-at-saturation",
    )
    (there, a), (missing, b), (over, c), (full, d) = (shown_value(rows[name]["result"]) for name in names)
    assert over > 0.0
    assert abs(there + missing - over - full) <= (a + b + c + d) / 2


def test_every_service_limit_names_its_source(shared):
    """Polyethylene 140 °F and tubing 122 °F are two materials, each with what it rests on."""
    rows = shown(shared, "air", "us")
    limits = {key: row for key, row in rows.items() if key.startswith("service-limit-of")}
    assert {row["result"] for row in limits.values()} >= {"140 °F", "122 °F"}
    assert all("memory" in row["source"] or "judgement" in row["source"] for row in limits.values())


@pytest.mark.parametrize(("units", "height"), [("us", "13.0 ft"), ("si", "3.96 m")])
def test_the_highest_place_of_the_line_is_where_the_trunk_starts(shared, units, height):
    """693 ft over a compressor at 692 ft that stands 12 ft over the water."""
    row = shown(shared, "air", units)["highest-place-of-the-line-over-today-s-water"]
    assert row["result"] == height
