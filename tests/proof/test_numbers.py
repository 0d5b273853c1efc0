"""The study of numbers names every drawn parameter of the column, so that each can be held at its ends."""

from scripts.proof.made_ponds import TEN
from scripts.proof.numbers_risk import PARAMETER_NAMES

from plumeline.kernels import column_index as ix


def test_every_parameter_has_a_name():
    """A parameter that a later model adds is named here too, or the study could not hold it."""
    assert set(PARAMETER_NAMES) == set(range(ix.PARAMETERS))
    assert len(set(PARAMETER_NAMES.values())) == ix.PARAMETERS


def test_no_bottle_of_the_made_ponds_reads_under_nothing():
    """A made pond poor in oxygen breathes its bottle dry and no further."""
    for made in TEN:
        for bottle in made.job().bottles:
            assert min(bottle.surface_after_24h_mg_l, bottle.after_15min_mg_l, bottle.after_24h_mg_l) >= 0.0
