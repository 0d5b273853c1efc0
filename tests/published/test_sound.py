"""How noise falls with distance and adds up, against published tables."""

import pytest

from plumeline.science.sound import (
    distance_of_level_iso_9613_1996,
    level_at_distance_iso_9613_1996,
    level_of_several_iso_3744_2010,
)


@pytest.mark.parametrize(("feet", "level"), [(50, 95.0), (100, 89.0), (200, 83.0)])
def test_six_decibels_a_doubling(feet, level):
    """95 dB at 50 ft, 89 at 100, 83 at 200: a city's page on noise (read)."""
    assert level_at_distance_iso_9613_1996(95.0, 50.0, float(feet)) == pytest.approx(level, abs=0.05)


@pytest.mark.parametrize(("feet", "change"), [(20, 0.0), (40, -6.0), (60, -9.5), (80, -12.0)])
def test_change_with_distance(feet, change):
    """0, −6, −9.5, −12 dB at 20, 40, 60, 80 ft: a trade association's table of the inverse-square law (read)."""
    assert level_at_distance_iso_9613_1996(0.0, 20.0, float(feet)) == pytest.approx(change, abs=0.05)


@pytest.mark.parametrize(("metres", "divergence"), [(1, 11.0), (10, 31.0), (100, 51.0)])
def test_geometrical_divergence(metres, divergence):
    """ISO 9613-2: A_div = 20 lg(d/1 m) + 11 dB (from memory), so 1 m to d metres costs A_div less 11."""
    assert level_at_distance_iso_9613_1996(57.0, 1.0, float(metres)) == pytest.approx(
        57.0 + 11.0 - divergence
    )


@pytest.mark.parametrize(("sources", "more"), [(1, 0.0), (2, 3.0), (3, 4.8), (4, 6.0), (10, 10.0)])
def test_like_sources_add(sources, more):
    """+3.0, 4.8, 6.0, 10 dB for 2, 3, 4, 10 like sources: any table of adding levels (from memory)."""
    assert level_of_several_iso_3744_2010(60.0, float(sources)) == pytest.approx(60.0 + more, abs=0.05)


@pytest.mark.parametrize("limit", [35.0, 45.0, 50.0])
def test_the_distance_is_the_levels_inverse(limit):
    """At the distance that is given for a limit the level is that limit."""
    away_m = distance_of_level_iso_9613_1996(67.0, 1.0, limit)
    assert level_at_distance_iso_9613_1996(67.0, 1.0, away_m) == pytest.approx(limit, abs=1e-9)
