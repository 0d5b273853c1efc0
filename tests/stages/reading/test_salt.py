"""A pond that salt layers: it is not called mixed, its air line can be worked out, its layers end where salt's end."""

import re

import gsw
import numpy as np
import pytest

from plumeline.errors import RangeError
from plumeline.kernels import column_index as ix
from plumeline.science.gases import STANDARD_PRESSURE_PA, do_saturation_benson_krause_1984
from plumeline.science.water import density_chen_millero_1986, density_kell_1975, salinity_hill_1986
from plumeline.stages.mixed import still_layered
from plumeline.stages.plume.draws import Source
from plumeline.stages.plume.engineers import engineers_transfer_kg_s
from plumeline.stages.plume.lift import solve_lift
from plumeline.stages.plume.water import water_of_rows
from plumeline.stages.reading import reading
from plumeline.stages.reading.strata import MIXED_BELOW_KG_M3
from plumeline.stages.startup.notices import salt_layered

SALTY = [
    (0.2, 27.5, 6.8, {"conductivity_us_cm": 3000.0}),
    (1.5, 27.6, 4.0, {"conductivity_us_cm": 3100.0}),
    (2.5, 27.6, 0.1, {"conductivity_us_cm": 14000.0, "sulphide_mg_l": 2.0, "ph": 7.1}),
    (3.8, 27.3, 0.1, {"conductivity_us_cm": 15500.0, "sulphide_mg_l": 3.0, "ph": 7.1}),
]  # fmt: skip


def codes(found):
    return {notice.code for notice in found.notices}


def test_water_of_one_temperature_that_salt_parts_is_not_mixed(box, make_job):
    """TEOS-10 (gsw): the step lies between 1.5 and 2.5 m, 5 kg/m³ of it salt's; warmth gives under 0.1."""
    job = make_job(SALTY)
    found = reading(job, box)
    salt = [float(gsw.SP_from_C(row[3]["conductivity_us_cm"] / 1000.0, 25.0, 0.0)) for row in SALTY]
    heavy = [
        float(gsw.rho_t_exact(s * 35.16504 / 35.0, row[1], 0.0)) for s, row in zip(salt, SALTY, strict=True)
    ]
    assert heavy[2] - heavy[1] > 4.0
    assert 1.5 < found.strata.seasonal_thermocline_depth_m < 2.5
    assert {"salt-layered", "brackish"} <= codes(found)
    assert "mixed" not in codes(found)
    # g/A₀ ∫ (z − z_v) ρ A dz in a box, by TEOS-10 at the readings
    z = np.linspace(0.0, 4.0, 4001)
    by_hand = 9.80665 * np.trapezoid((z - 2.0) * np.interp(z, [row[0] for row in SALTY], heavy), z)
    assert found.stability_j_m2 == pytest.approx(by_hand, rel=0.015)
    (told,) = salt_layered(job)
    assert told.code == "salt-layered"


@pytest.mark.parametrize(
    ("bottom_degc", "bottom_us_cm", "told"),
    [(27.3, 15500.0, True), (12.0, 5000.0, True), (12.0, 3300.0, False)],
)
def test_the_share_of_salt_is_told_where_it_outlasts_warmth(box, make_job, bottom_degc, bottom_us_cm, told):
    """TEOS-10 (gsw): what salt adds at the bottom over the whole; cool weather takes away the rest, and salt stays."""
    top_us_cm = 3000.0
    ends = ((0.2, 27.5, 6.8, top_us_cm), (3.8, bottom_degc, 0.1, bottom_us_cm))
    job = make_job([(z, t, o, {"conductivity_us_cm": k}) for z, t, o, k in ends])
    fresher, saltier = (
        float(gsw.SP_from_C(k / 1000.0, 25.0, 0.0)) * 35.16504 / 35.0 for k in (top_us_cm, bottom_us_cm)
    )
    top, bottom, cooled = (
        float(gsw.rho_t_exact(s, t, 0.0))
        for s, t in ((fresher, 27.5), (saltier, bottom_degc), (fresher, bottom_degc))
    )
    found = [notice.text for notice in reading(job, box).notices if notice.code == "salt-layered"]
    assert bool(found) is (bottom - cooled > MIXED_BELOW_KG_M3) is told
    assert bool(salt_layered(job)) is told
    if told:
        share_pct = float(re.search(r"(\d+)% of what makes", found[0]).group(1))
        assert share_pct == pytest.approx(100.0 * (bottom - cooled) / (bottom - top), abs=1.5)


def test_sulphide_and_ammonia_are_split_with_the_salt_of_their_depth(box, make_job):
    """By hand at 3.8 m: 9 g/kg, 27.3 °C, pH 7.1: pK₁ 6.946 − 0.1498 √9.03 + 0.0119 × 9.03 = 6.603, 24.1 % of 3 mg/L."""
    bottom = reading(make_job(SALTY), box).layers[-1]
    assert bottom.salinity_g_kg == pytest.approx(9.03, abs=0.05)
    assert bottom.hydrogen_sulphide_mg_l == pytest.approx(3.0 * 0.241 * 34.08 / 32.06, rel=0.01)


def test_fresh_water_within_a_degree_is_mixed_at_any_warmth():
    """Kell 1975: no degree of fresh water up to 40 °C comes to the growth of density that counts as layered."""
    assert max(density_kell_1975(t) - density_kell_1975(t + 1.0) for t in range(40)) < MIXED_BELOW_KG_M3


def test_warm_over_cold_fresh_water_is_not_laid_to_salt(box, make_job):
    """A usual pond: 10 °C of warmth, a tenth of a gram of salt."""
    found = reading(make_job([(0.0, 28.0, 8.0), (1.5, 27.0, 6.0), (3.8, 17.0, 0.1)]), box)
    assert not {"salt-layered", "brackish", "mixed"} & codes(found)
    assert salt_layered(make_job([(0.0, 28.0, 8.0), (3.8, 17.0, 0.1)])) == ()


@pytest.mark.parametrize("salinity_g_kg", [6.5, 15.0, 35.0])
def test_a_plume_rises_in_brackish_and_sea_water(salinity_g_kg):
    """In water of one density the lift hardly turns on the salt: Morton, Taylor & Turner 1956 know only buoyancy."""
    source = Source(0.115)
    fresh, salt = (
        solve_lift(water_of_rows([0.0, 4.0], [20.0, 20.0], 5.0, s), 3.5, 6e-4, source, STANDARD_PRESSURE_PA)
        for s in (0.0, salinity_g_kg)
    )
    assert salt.water_flow_m3_s == pytest.approx(fresh.water_flow_m3_s, rel=0.02)


def test_water_saltier_than_the_sea_is_refused_by_what_was_typed():
    """The person typed a conductivity, not a salinity."""
    with pytest.raises(RangeError, match="40") as refused:
        water_of_rows([0.0, 4.0], [20.0, 20.0], 5.0, 55.0)
    assert "conductivity" in refused.value.remedy


@pytest.mark.parametrize("temperature_degc", [0.01, 10.0, 20.0, 30.0, 40.0])
@pytest.mark.parametrize("salinity_g_kg", [6.0, 15.0, 25.0, 40.0])
def test_what_salt_adds_to_density_holds_to_sea_water(temperature_degc, salinity_g_kg):
    """gsw, at the reference composition: 1.5 % of what salt adds."""
    absolute = salinity_g_kg * 35.16504 / 35.0
    added = float(
        gsw.rho_t_exact(absolute, temperature_degc, 0.0) - gsw.rho_t_exact(0.0, temperature_degc, 0.0)
    )
    found = density_chen_millero_1986(temperature_degc, salinity_g_kg) - density_kell_1975(temperature_degc)
    assert found == pytest.approx(added, rel=0.015)


@pytest.mark.parametrize("conductivity_us_cm", [15000.0, 30000.0, 53000.0, 59000.0])
def test_salinity_holds_to_sea_water(conductivity_us_cm):
    """gsw SP_from_C, which is PSS-78."""
    expected = float(gsw.SP_from_C(conductivity_us_cm / 1000.0, 25.0, 0.0))
    assert salinity_hill_1986(conductivity_us_cm) == pytest.approx(expected, rel=2e-5)


def test_the_engineers_transfer_falls_with_salt_as_saturation_does():
    """ASCE 2-06: β is saturation in this water over that in clean water; gsw's oxygen by Garcia & Gordon 1992."""
    fresh, salt = (
        engineers_transfer_kg_s(3.0, 1e-4, 25.0, 0.0, s, STANDARD_PRESSURE_PA) for s in (0.0, 20.0)
    )
    by_kg = [float(gsw.O2sol_SP_pt(s, 25.0) * gsw.rho_t_exact(s * 1.0047, 25.0, 0.0)) for s in (0.0, 20.0)]
    assert salt / fresh == pytest.approx(by_kg[1] / by_kg[0], rel=1e-3)
    whole = do_saturation_benson_krause_1984(25.0, 20.0, STANDARD_PRESSURE_PA)
    assert whole == pytest.approx(by_kg[1] * 31.9988e-6, rel=1e-3)


def test_water_that_salt_parts_counts_as_layered_in_the_plan():
    """Half a gram of salt lies as heavy as a degree does in warm water: Chen & Millero 1986, Kell 1975, at 30 °C."""
    records = np.zeros((ix.RECORDS, 4))
    records[ix.DIFFERENCE] = [0.2, 1.5, -0.3, 0.2]
    records[ix.SALT_DIFFERENCE] = [0.05, 0.05, 6.0, 0.6]
    assert still_layered(records).tolist() == [False, True, True, True]
    by_salt = density_chen_millero_1986(30.0, 0.5) - density_chen_millero_1986(30.0, 0.0)
    by_degree = density_kell_1975(30.0) - density_kell_1975(31.0)
    assert 1.0 < by_salt / by_degree < 1.4
