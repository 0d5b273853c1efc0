"""``plumeline quick mix``: pH and un-ionised ammonia of the mixed water, from the shell."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import PyCO2SYS
import pytest

import plumeline

DEMO = Path(plumeline.__file__).parent / "demo" / "hollow-oak"


@pytest.fixture(name="deep")
def _deep(tmp_path) -> Path:
    """Return the demo's folder with a profile in which the mean pH would be far off."""
    folder = tmp_path / "pond"
    shutil.copytree(DEMO, folder)
    (folder / "profiles.csv").write_text(
        "time,depth_m,temperature_degc,do_mg_l,ph,alkalinity_mg_l,ammonia_mg_l\n"
        "2026-08-11T06:30,0,28,8,9.0,75,0.1\n"
        "2026-08-11T06:30,1.5,28,8,9.0,75,0.1\n"
        "2026-08-11T06:30,1.6,18,0.2,7.0,100,2.0\n"
        "2026-08-11T06:30,4,18,0.2,7.0,100,2.0\n",
        encoding="utf-8",
    )
    return folder


def test_ph_of_the_mix_lies_well_under_the_mean(run, deep):
    """The keys are there, and pH is not the volume's mean: 7.4 at sixty to forty (PyCO2SYS), the mean 8.2.

    The share of upper water follows from the mixed temperature, 18 °C and 28 °C being the ends.
    """
    code, out, err = run("quick", "mix", str(deep), "--json")
    assert code == 0, err
    found = json.loads(out)
    share = (found["temperature_degc"] - 18.0) / 10.0
    assert 0.2 < share < 0.8
    fresh = {"salinity": 0, "opt_k_carbonic": 8, "par1_type": 1}
    upper = PyCO2SYS.sys(par1=1498.7, par2=9.0, par2_type=3, temperature=28.0, **fresh)["dic"]
    lower = PyCO2SYS.sys(par1=1998.3, par2=7.0, par2_type=3, temperature=18.0, **fresh)["dic"]
    mixed = PyCO2SYS.sys(
        par1=share * 1498.7 + (1 - share) * 1998.3,
        par2=share * upper + (1 - share) * lower,
        par2_type=2,
        temperature=found["temperature_degc"],
        **fresh,
    )
    assert found["ph"] == pytest.approx(float(mixed["pH"]), abs=0.04)
    assert found["ph"] < share * 9.0 + (1 - share) * 7.0 - 0.5
    assert found["unionized_mg_l"] == pytest.approx(found["unionized_fraction"] * found["ammonia_mg_l"])


def test_the_table_says_that_ph_does_not_mix(run, deep):
    """For people: pH with two decimals and why, within 80 columns, in either system."""
    for units in ("us", "si"):
        code, out, err = run("quick", "mix", str(deep), "--units", units)
        assert (code, err) == (0, "")
        assert "pH does not" in " ".join(out.split())
        assert "un-ionised ammonia" in out
        assert max(len(line) for line in out.splitlines()) <= 80


def test_a_ph_that_cannot_be_gives_null_and_says_why(run, deep):
    """pH 11.5 with 20 mg/L of alkalinity: all of the chemistry is null, the rest of the answer stands."""
    path = deep / "profiles.csv"
    path.write_text(path.read_text(encoding="utf-8").replace(",9.0,75,", ",11.5,20,"), encoding="utf-8")
    code, out, err = run("quick", "mix", str(deep), "--json")
    assert code == 0, err
    found = json.loads(out)
    assert found["ph"] is None
    assert found["do_mg_l"] > 0.0
    assert "ph-beyond-alkalinity" in {notice["code"] for notice in found["notices"]}
