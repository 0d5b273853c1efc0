"""Nitrite: advised to test where much ammonia meets air."""

import pytest

from plumeline.stages.reading import reading


@pytest.mark.parametrize(("ammonia_mg_l", "told"), [(None, False), (0.4, False), (1.0, True), (4.0, True)])
def test_nitrite_is_told_of_where_ammonia_was_measured(box, make_job, ammonia_mg_l, told):
    """SRAC 462 (1997): nitrite is a product of ammonia; brown blood; ten parts of chloride to one of nitrite."""
    job = make_job([(0.0, 26.0, 8.0), (3.8, 16.0, 0.1, {"ammonia_mg_l": ammonia_mg_l})])
    found = [notice.text for notice in reading(job, box).notices if notice.code == "nitrite"]
    assert bool(found) is told
    assert not told or ("ten parts of chloride" in found[0] and "though the meter shows oxygen" in found[0])
