"""The pH of mixed water against PyCO2SYS: alkalinity and inorganic carbon mix, pH does not.

PyCO2SYS (Humphreys et al. 2022, Geosci. Model Dev. 15: 15–43) at salinity 0 with the constants of fresh water
(opt_k_carbonic 8, Millero 1979), which are other constants than ours: agreement is to 0.01 of pH where measured.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime

import numpy as np
import PyCO2SYS
import pytest

from plumeline.job.document import Job, Pond, Profile, ProfilePoint, Site
from plumeline.science.chemistry import ammonia_unionized_fraction_emerson_1975
from plumeline.science.mixing import carbonate_alkalinity_stumm_morgan_1996, water_pkw_millero_1979
from plumeline.stages.reading import mixed_chemistry_now
from plumeline.stages.reading.mixing import mixed_ph_of
from plumeline.stages.survey import Hypsograph

CACO3_MG_PER_UMOL = 50.0435e-3
"""Half of 100.087 g/mol: alkalinity as CaCO₃ by µmol of charge."""

ALKALINITY, CARBON, PH = 1, 2, 3
"""PyCO2SYS's numbers of the parameters."""


def system(first, kind, second, other, temperature_degc):
    """Return PyCO2SYS's answer for fresh water."""
    return PyCO2SYS.sys(
        par1=first,
        par1_type=kind,
        par2=second,
        par2_type=other,
        salinity=0,
        temperature=temperature_degc,
        opt_k_carbonic=8,
    )


@dataclass(frozen=True)
class FakeSurvey:
    """What the reading needs of a survey."""

    hypsograph: Hypsograph


def pond(rows):
    """Return a job whose profile has rows of (depth, temperature, pH, alkalinity in µmol/L, ammonia)."""
    points = tuple(
        ProfilePoint(
            depth_m=depth,
            temperature_degc=warm,
            do_mg_l=5.0,
            ph=ph,
            alkalinity_mg_l=alkalinity * CACO3_MG_PER_UMOL,
            ammonia_mg_l=ammonia,
        )
        for depth, warm, ph, alkalinity, ammonia in rows
    )
    return Job(
        id="box",
        name="Box",
        date=date(2026, 8, 1),
        site=Site(latitude_deg=36.0, longitude_deg=-79.0, elevation_m=0.0),
        pond=Pond(area_m2=1000.0, max_depth_m=4.0),
        observations=(Profile(id="p", time=datetime(2026, 8, 1, 6, tzinfo=UTC), points=points),),
    )


BOX = FakeSurvey(Hypsograph((0.0, 2.0, 4.0), (1000.0,) * 3, (4000.0, 2000.0, 0.0)))


def two_layers(upper, lower, share):
    """Return the chemistry of a box of two waters (temperature, pH, alkalinity, ammonia), `share` the upper."""
    edge, thin = 4.0 * share, 1e-4
    rows = [(0.0, *upper), (edge - thin, *upper), (edge + thin, *lower), (4.0, *lower)]
    found, _ = mixed_chemistry_now(pond(rows), BOX)
    return found


def test_sixty_to_forty_is_the_worked_case():
    """28 °C, pH 9.0, 1500 µmol/kg with 18 °C, pH 7.0, 2000: pH 7.397, 1.30 %; the mean 8.2 says 7.7 %.

    Worked with PyCO2SYS 1.8.3 before this program was written (notes on the science, section 3).
    """
    found = two_layers((28.0, 9.0, 1500.0, 0.1), (18.0, 7.0, 2000.0, 2.0), 0.6)
    assert found.ph == pytest.approx(7.397, abs=0.005)
    assert found.unionized_fraction == pytest.approx(0.0130, abs=0.0002)
    assert found.ammonia_mg_l == pytest.approx(0.6 * 0.1 + 0.4 * 2.0, rel=1e-6)
    assert found.unionized_mg_l == pytest.approx(0.0130 * 0.86, rel=0.02)
    # and what an average of pH would have said
    averaged = 0.6 * 9.0 + 0.4 * 7.0
    assert ammonia_unionized_fraction_emerson_1975(24.0, averaged) == pytest.approx(0.077, abs=0.001)
    assert abs(found.ph - averaged) > 0.5


@pytest.mark.parametrize(
    ("upper", "lower", "share"),
    [
        ((28.0, 9.4, 800.0, 0.1), (16.0, 6.6, 1600.0, 3.0), 0.7),
        ((30.0, 8.2, 2500.0, 0.1), (12.0, 7.2, 3500.0, 1.0), 0.5),
        ((24.0, 9.8, 1200.0, 0.1), (20.0, 7.6, 1300.0, 0.5), 0.85),
        ((20.0, 7.4, 400.0, 0.1), (10.0, 6.4, 700.0, 2.0), 0.3),
        ((26.0, 10.2, 1800.0, 0.1), (14.0, 6.8, 2200.0, 2.0), 0.6),
    ],
)
def test_two_waters_mix_as_pyco2sys_mixes_them(upper, lower, share):
    """Carbon of each water from its pH, mixed, and the mixture's pH: PyCO2SYS throughout, to 0.015 of pH."""
    waters = [(share, upper), (1.0 - share, lower)]
    carbon = sum(
        part * system(alkalinity, ALKALINITY, ph, PH, warm)["dic"]
        for part, (warm, ph, alkalinity, _) in waters
    )
    alkalinity = sum(part * water[2] for part, water in waters)
    warm = sum(part * water[0] for part, water in waters)
    expected = float(system(alkalinity, ALKALINITY, carbon, CARBON, warm)["pH"])
    found = two_layers(upper, lower, share)
    assert found.ph == pytest.approx(expected, abs=0.015)
    assert found.carbon_mol_m3 * 1000.0 == pytest.approx(carbon, rel=0.01)


@pytest.mark.parametrize("temperature_degc", [5.0, 15.0, 25.0, 35.0])
@pytest.mark.parametrize("alkalinity", [300.0, 1500.0, 4000.0])
@pytest.mark.parametrize("part", [0.92, 1.0, 1.1, 1.5])
def test_ph_of_a_water_is_pyco2sys(temperature_degc, alkalinity, part):
    """pH from alkalinity and carbon, hydroxide and all, from 6.4 to 10: within 0.005 of PyCO2SYS."""
    expected = float(system(alkalinity, ALKALINITY, part * alkalinity, CARBON, temperature_degc)["pH"])
    found = mixed_ph_of(alkalinity / 1000.0, part * alkalinity / 1000.0, temperature_degc)
    assert found == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize(
    ("temperature_degc", "pkw"), [(0.0, 14.94), (10.0, 14.53), (25.0, 13.995), (40.0, 13.53), (50.0, 13.26)]
)
def test_ion_product_of_water_is_the_handbooks(temperature_degc, pkw):
    """pKw of pure water by CRC Handbook of Chemistry and Physics, rounded (from memory)."""
    assert water_pkw_millero_1979(temperature_degc) == pytest.approx(pkw, abs=0.012)


@pytest.mark.parametrize("temperature_degc", [2.0, 12.0, 24.0, 33.0])
def test_ion_product_of_water_is_pyco2sys(temperature_degc):
    """The same constant in PyCO2SYS at salinity 0, to 0.001."""
    found = -np.log10(float(system(1500.0, ALKALINITY, 1500.0, CARBON, temperature_degc)["k_water"]))
    assert water_pkw_millero_1979(temperature_degc) == pytest.approx(found, abs=0.001)


@pytest.mark.parametrize(("temperature_degc", "ph"), [(25.0, 9.5), (10.0, 10.0), (30.0, 5.0), (18.0, 4.6)])
def test_carbonate_alkalinity_is_pyco2sys_without_water(temperature_degc, ph):
    """Alkalinity less hydroxide plus hydrogen ion is PyCO2SYS's bicarbonate and twice carbonate [µmol/kg]."""
    # a water of some carbon with this pH; its alkalinity is what PyCO2SYS says
    state = system(ph, PH, 1000.0, CARBON, temperature_degc)
    total = float(state["alkalinity"])
    carbonate = float(state["HCO3"]) + 2.0 * float(state["CO3"])
    found = carbonate_alkalinity_stumm_morgan_1996(total / 1000.0, ph, temperature_degc)
    assert found * 1000.0 == pytest.approx(carbonate, abs=0.1)


def test_the_same_water_twice_keeps_its_ph():
    """Mixing a water with itself changes nothing, whatever the share."""
    water = (22.0, 8.7, 1700.0, 0.4)
    found = two_layers(water, water, 0.37)
    assert found.ph == pytest.approx(8.7, abs=1e-6)
    assert found.ammonia_mg_l == pytest.approx(0.4)


def test_ph_that_the_alkalinity_cannot_carry_is_said_and_no_ph_is_made_up():
    """pH 11 needs some 1 mmol/L of hydroxide at 25 °C; with 300 µmol/L of alkalinity one of them is wrong."""
    rows = [(0.0, 25.0, 11.2, 300.0, 0.1), (4.0, 25.0, 7.0, 300.0, 0.1)]
    found, notices = mixed_chemistry_now(pond(rows), BOX)
    assert found is None
    assert [notice.code for notice in notices] == ["ph-beyond-alkalinity"]


def test_mixed_ph_outside_the_criteria_carries_a_caution_and_is_not_clamped():
    """EPA 822-R-13-001 tabulates pH 6.5 to 9.0: at 9.8 the criterion is carried on and said."""
    water = (25.0, 9.8, 1800.0, 0.4)
    rows = [(0.0, *water), (2.0, *water), (4.0, *water)]
    found, notices = mixed_chemistry_now(pond(rows), BOX)
    assert found.ph == pytest.approx(9.8, abs=1e-6)
    assert "relation-out-of-range" in {notice.code for notice in notices}
    # by hand from the printed equation at pH 9.8: 0.7249 (0.0114/(1+10^-2.596) + 1.6181/(1+10^2.596)) 23.12 10^-0.18
    by_hand = 0.7249 * (0.0114 / (1 + 10**-2.596) + 1.6181 / (1 + 10**2.596)) * 23.12 * 10**-0.18
    assert found.criterion_acute_mg_l == pytest.approx(by_hand, rel=1e-9)


def test_without_ph_the_answer_is_marked_as_a_guess():
    """No pH and no ammonia read: the priors' middles, and a caution that says so."""
    job = pond([(0.0, 28.0, 8.0, 1500.0, 0.1), (2.0, 20.0, 8.0, 1500.0, 0.1), (4.0, 15.0, 8.0, 1500.0, 0.1)])
    profile = job.profiles[0]
    bare = tuple(point.model_copy(update={"ph": None, "ammonia_mg_l": None}) for point in profile.points)
    job = job.model_copy(update={"observations": (profile.model_copy(update={"points": bare}),)})
    found, notices = mixed_chemistry_now(job, BOX)
    assert (found.ph_assumed, found.ammonia_assumed, found.alkalinity_assumed) == (True, True, False)
    assert [notice.code for notice in notices] == ["mixed-chemistry-assumed"]
