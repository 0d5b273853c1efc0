"""Every number of a start-up plan's page opens, kept with the run; its lines come to what is shown."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from scipy.stats import binom
from tests.web.opened_pages import Page, check_lines, check_page
from tests.web.units_held import in_other_units

import plumeline
from plumeline.stages.startup import ChosenAs
from plumeline.store import open_store
from plumeline.web import worker
from plumeline.workings.files import Files
from plumeline.workings.formulas import binomial
from plumeline.workings.startup import StartValues
from plumeline.workings.startup_book import startup_book
from plumeline.workings.startup_tables import BESIDE, FIGURES


@pytest.fixture(scope="module")
def run(tmp_path_factory, small_plan, oak_zip):
    """A server with a pond whose start-up plan was made by the worker."""
    from tests.web.conftest import Browser

    store = open_store(tmp_path_factory.mktemp("startup") / "plumeline.sqlite3")
    browser = Browser(store)
    assert browser.bring_in(oak_zip).status_code == 303
    browser.pond = store.ponds.rows()[0].id
    asked = store.runs.ask(browser.pond, 1, plumeline.__version__)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("plumeline.stages.plan.make_plan", lambda *_, **__: small_plan)
        worker.compute(store, store.runs.claim())
    browser.run = asked.id
    assert store.runs.get(asked.id).state.value == "done", store.runs.get(asked.id).words
    yield browser
    store.close()


def kept(browser, units):
    return json.loads(browser.store.runs.file(browser.run, f"{units}/workings.json"))


@pytest.mark.parametrize("units", ["us", "si"])
def test_every_number_of_the_plan_opens(run, units):
    """Crawl the page: what is a number is a link, and its working says how it came about."""
    page = Page(run.in_units(units).get(f"/ponds/{run.pond}/startup").text)
    print(f"startup, {units}: {len(page.links)} numbers open")
    assert len(page.links) > 200
    check_page(page, kept(run, units).values())


@pytest.mark.parametrize("units", ["us", "si"])
def test_every_line_of_the_plan_comes_to_what_is_shown(run, units):
    """Work out each line anew from its text."""
    rows = list(kept(run, units).values())
    assert sum(bool(row["line"]) for row in rows) > 50
    check_lines(rows)


def test_a_number_of_the_plan_has_its_page(run):
    """One working, and all of them; an unknown one is said; another pond's address shows none."""
    home = f"/ponds/{run.pond}/runs/{run.run}/workings"
    key = next(key for key, row in kept(run.in_units("us"), "us").items() if "binomial" in row["line"])
    one = run.get(f"{home}/{key}")
    assert one.status_code == 200
    assert "Clopper" in one.text
    assert f'href="/ponds/{run.pond}/runs/{run.run}"' in one.text
    everything = run.get(home)
    assert everything.status_code == 200
    assert everything.text.count('class="working"') == len(kept(run, "us"))
    assert run.get(f"{home}/no-such").status_code == 404
    assert run.get(f"/ponds/other/runs/{run.run}/workings").status_code == 404


def test_a_plan_is_shown_though_its_numbers_can_not_open(run, small_plan, monkeypatch, capsys):
    """Our own mistake in a working loses no plan: its numbers are plain text, and the log says why."""

    def broken(*_):
        raise KeyError("no such value")

    monkeypatch.setattr("plumeline.stages.plan.make_plan", lambda *_, **__: small_plan)
    monkeypatch.setattr("plumeline.workings.startup_book.startup_book", broken)
    number = run.store.ponds.revision(run.pond).number
    asked = run.store.runs.ask(run.pond, number, "another")
    if asked.id == run.run:
        asked = None
    claimed = run.store.runs.claim()
    if claimed is None:
        pytest.skip("a second run of one revision is the first one")
    worker.compute(run.store, claimed)
    assert run.store.runs.get(claimed.id).state.value == "done"
    assert "no such value" in capsys.readouterr().err
    page = run.get(f"/ponds/{run.pond}/runs/{claimed.id}").text
    assert 'class="opens"' not in page
    assert "lost their refuge" in page


@pytest.mark.parametrize(
    ("most", "draws", "chance"), [(0, 12, 0.2), (3, 200, 0.0384), (58, 2000, 0.03596), (12, 12, 0.4)]
)
def test_binomial_against_scipy(most, draws, chance):
    """The sum of the counts is scipy's distribution."""
    assert binomial(most, draws, chance) == pytest.approx(binom.cdf(most, draws, chance), rel=1e-9)


def test_the_bound_is_the_beta_distribution_s():
    """Clopper & Pearson's bound as the stage makes it is where so few come in one case of twenty."""
    from plumeline.stages.startup.promise import upper95

    for failures, members in ((0, 12), (4, 200), (58, 2000)):
        assert binomial(failures, members, upper95(failures, members)) == pytest.approx(0.05, abs=1e-9)


@pytest.mark.parametrize(
    ("chosen_as", "says", "not_says"),
    [
        ("second try", "just missed the promise on the fresh ponds", "fewest days; "),
        ("cautious rule", "no schedule of the search is used", "of those that keep"),
        ("fewest lost", "none keeps what is accepted", "of those that keep"),
        ("least effort", "of those that keep what is accepted", "just missed"),
    ],
)
def test_the_words_on_a_run_say_how_it_came_to_be_chosen(small_plan, chosen_as, says, not_says):
    """A second try was not the best of those searched, and its ponds were asked once before."""
    plan = replace(small_plan, startup=replace(small_plan.startup, chosen_as=ChosenAs(chosen_as)))
    values = StartValues(plan, Files(plan.job, ()), None)
    words = values.minutes(plan.startup.days[0]).words
    assert says in words
    assert not_says not in words
    assert ("two tries" in values.fresh) == (chosen_as == "second try")
    assert "not searched on" in values.fresh


def test_each_figure_of_other_schedules_is_over_its_own_ponds(small_plan):
    """Other schedules are scored on fewer ponds than the plan: the working names theirs, in both places alike."""
    start = small_plan.startup
    compared = tuple(
        replace(item, risk=replace(item.risk, members=7, failures=min(item.risk.failures, 7)))
        for item in start.comparisons
    )
    plan = replace(small_plan, startup=replace(start, comparisons=compared))
    book = startup_book(plan, Files(plan.job, ()), "us")
    for number, item in enumerate(compared, start=1):
        shown = book.places["part", FIGURES, item.name]
        (lost,) = (value for value in shown if value.name == f"ponds lost, {item.name}")
        assert "over the first 7 of the fresh simulated ponds" in lost.words
        assert book.places["part", BESIDE, str(number), "1"][0] is lost


@pytest.mark.parametrize("units", ["us", "si"])
def test_the_plan_holds_to_the_chosen_units(run, units):
    """Nothing in the other system on the page of a plan."""
    assert in_other_units(run.in_units(units).get(f"/ponds/{run.pond}/startup").text, units) == []
