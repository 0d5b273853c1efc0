"""The units that were chosen hold on every page: nothing in the other system but names and what was typed."""

import pytest
from tests.web.units_held import in_other_units

PAGES = (
    "",
    "/survey",
    "/reading",
    "/layout",
    "/air",
    "/papers",
    "/visits",
    "/shore",
    "/plan",
    "/startup",
    "/history",
)


@pytest.fixture
def chosen(shared, units):
    """The shared browser in these units, and as it was afterwards."""
    yield shared.in_units(units)
    shared.in_units("us")


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("page", PAGES)
def test_a_page_holds_to_the_chosen_units(chosen, units, page):
    """Crawl a page: its texts, tables, notices, pictures and the safety card."""
    answer = chosen.get(f"/ponds/{chosen.pond}{page}")
    assert answer.status_code == 200
    assert in_other_units(answer.text, units) == []


def test_a_unit_of_the_other_system_is_found():
    """The crawler is no rubber stamp."""
    page = "<main><p>{}</p></main>"
    for text in ("cut to the next <a>5 ft</a>", "moved by a foot", "never 100 psi of air", "0.43 psi less"):
        assert in_other_units(page.format(text), "si"), text
        assert not in_other_units(page.format(text), "us"), text
    for text in ("at 1 m", "6.55 Nm³/h", "a litre of water is a litre"):
        assert in_other_units(page.format(text), "us") or "litre" in text
    assert not in_other_units(page.format("a header of 3/4 in, the foot of the riser"), "si")
