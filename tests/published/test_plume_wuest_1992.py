"""The bubble plume of Wüest, Brooks & Imboden 1992 (Water Resour. Res. 28:3235) against outside solutions.

Check values: design notes, section 4, and the sensitivity table beside them, made with scipy's RK45 (rtol
1e-9) from the published equations; the second half solves the equations again here, with `gsw` for density.
Water without oxygen, nitrogen 0.78 K_N p, air of 21 % oxygen, published solubility polynomials.
"""

import math

import gsw
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from plumeline.kernels.plume import (
    END_DEPTH,
    FLOW,
    OXYGEN_UPTAKE,
    RADIUS,
    RECORD_COLUMNS,
    START_VELOCITY,
    SURFACED,
    VELOCITY,
    fill_setting,
    rise_all,
)
from plumeline.kernels.rise import BUBBLE_RATE, SETTING_COUNT
from plumeline.kernels.solubility import WUEST_LAW
from plumeline.science.plume import mass_transfer_wuest_1992, slip_velocity_wuest_1992
from plumeline.stages.plume.water import water_of_one_temperature, water_of_rows

FT = 0.3048
MOL_S_PER_SCFM = FT**3 / 60.0 * 101325.0 / (8.314462618 * 293.15)
SUMMER_DEPTH_FT = (0.0, 3.0, 5.0, 10.0)
SUMMER_DEGC = (30.0, 30.0, 23.0, 22.0)


def production(depth_ft, scfm, water, alpha, *, source=0.115, froude=1.6, lam=0.8, radius=1e-3):
    """Return the record of the first plume and the bubble rate, from the production kernel."""
    depth = depth_ft * FT
    interface, ambient = water.segments(depth, 101325.0, WUEST_LAW)
    setting = np.empty(SETTING_COUNT)
    fill_setting(alpha, froude, lam, source, 1.0, 101325.0, WUEST_LAW, setting)
    records = np.zeros((6, RECORD_COLUMNS))
    rise_all(
        depth, scfm * MOL_S_PER_SCFM, radius, interface, ambient, setting, 1,
        np.zeros((6, len(ambient))), np.empty((6, 0, 3)), records,
    )  # fmt: skip
    return records[0], setting[BUBBLE_RATE]


def transfer(record, scfm):
    """Return the share of the oxygen taken up."""
    return record[OXYGEN_UPTAKE] / (0.21 * scfm * MOL_S_PER_SCFM)


def summer():
    """Return the stratified water of the check cases."""
    return water_of_rows([depth * FT for depth in SUMMER_DEPTH_FT], SUMMER_DEGC)


@pytest.mark.parametrize(
    ("depth_ft", "scfm", "temperature", "alpha", "w0", "rate", "w", "b", "flow", "share"),
    [
        (12.0, 1.3, 28.0, 0.06, 0.34032, 1.11238e5, 0.29863, 0.38420, 0.13848, 0.1940),
        (7.0, 0.5, 30.0, 0.05, 0.24469, 4.8321e4, 0.26170, 0.24678, 0.05007, 0.1323),
    ],
)
def test_uniform_water_gives_the_check_values(
    depth_ft, scfm, temperature, alpha, w0, rate, w, b, flow, share
):
    """Start, bubble rate, velocity, radius, flow and transfer agree to 0.3 % in water of one temperature."""
    record, bubbles = production(depth_ft, scfm, water_of_one_temperature(temperature), alpha)
    assert record[SURFACED] == 1.0
    found = (record[START_VELOCITY], bubbles, record[VELOCITY], record[RADIUS], record[FLOW])
    assert found == pytest.approx((w0, rate, w, b, flow), rel=0.003)
    assert transfer(record, scfm) == pytest.approx(share, rel=0.003)


@pytest.mark.parametrize(
    ("scfm", "alpha", "stall", "flow", "share"),
    [(0.3, 0.08, 0.438, 0.0637, 0.225), (0.5, 0.10, 0.270, 0.1010, 0.230), (0.8, 0.08, None, 0.1161, 0.214)],
)
def test_stratified_water_gives_the_check_values(scfm, alpha, stall, flow, share):
    """Depth of the first peel, flow and transfer agree to 0.3 % in the summer profile."""
    record, _ = production(10.0, scfm, summer(), alpha)
    assert record[FLOW] == pytest.approx(flow, rel=0.003)
    assert transfer(record, scfm) == pytest.approx(share, rel=0.003)
    if stall is None:
        assert record[SURFACED] == 1.0
    else:
        assert record[SURFACED] == 0.0
        assert record[END_DEPTH] == pytest.approx(stall, rel=0.003)


SENSITIVITY = [
    *(({"alpha": a}, q) for a, q in ((0.045, 0.1076), (0.05, 0.1178), (0.08, 0.1808), (0.09, 0.2024))),
    ({"alpha": 0.11}, 0.2463),
    *(({"source": s}, q) for s, q in ((0.05, 0.1034), (0.2, 0.1913))),
    *(({"froude": f}, q) for f, q in ((1.0, 0.1210), (2.0, 0.1498))),
    *(({"lam": x}, q) for x, q in ((0.7, 0.1520), (0.9, 0.1287), (1.0, 0.1214))),
]  # fmt: skip


@pytest.mark.parametrize(("changed", "flow"), SENSITIVITY)
def test_the_sensitivities_of_the_12_ft_case_agree(changed, flow):
    """Flow follows α, source radius, Froude number and λ as in the table, to 0.3 %."""
    record, _ = production(12.0, 1.3, water_of_one_temperature(28.0), **({"alpha": 0.06} | changed))
    assert record[FLOW] == pytest.approx(flow, rel=0.003)


@pytest.mark.parametrize(
    ("radius_mm", "flow", "percent"),
    [(0.5, 0.146, 30.8), (0.75, 0.138, 24.9), (1.0, 0.138, 19.4), (1.5, 0.139, 13.4), (2.0, 0.139, 10.3)],
)
def test_smaller_bubbles_give_more_of_their_oxygen(radius_mm, flow, percent):
    """Flow and transfer follow the bubble radius as in the table, to its last digit and 0.3 %."""
    record, _ = production(12.0, 1.3, water_of_one_temperature(28.0), 0.06, radius=radius_mm * 1e-3)
    assert record[FLOW] == pytest.approx(flow, rel=0.003, abs=6e-4)
    assert 100.0 * transfer(record, 1.3) == pytest.approx(percent, rel=0.003, abs=0.06)


def test_slip_meets_itself_at_its_joints():
    """Both power laws give 0.2341 m/s at their joints (a CFD source with the same numbers), 2 % over 0.23."""
    assert slip_velocity_wuest_1992(0.7e-3 * (1 - 1e-12)) == pytest.approx(0.2341, rel=1e-3)
    assert slip_velocity_wuest_1992(5.1e-3) == pytest.approx(0.2341, rel=1e-3)
    assert slip_velocity_wuest_1992(2e-3) == pytest.approx(0.2341, rel=0.02)


def test_slip_is_near_the_other_published_set():
    """Within 17 % of 1189 r^1.1945, 0.22, 2.995 r^0.489 m/s (Singleton's plume code), 0.4 to 10 mm."""
    for radius in np.geomspace(0.4e-3, 10e-3, 60):
        other = (
            1189.0 * radius**1.1945
            if radius <= 0.75e-3
            else 0.22
            if radius <= 4.8e-3
            else 2.995 * radius**0.489
        )
        assert slip_velocity_wuest_1992(radius) == pytest.approx(other, rel=0.17)


def test_transfer_velocity_meets_itself_at_its_joint():
    """0.6 r reaches the cap of 4e-4 m/s at 0.667 mm (Singleton's plume code)."""
    assert mass_transfer_wuest_1992(0.6669e-3) == pytest.approx(4e-4, rel=1e-3)
    assert mass_transfer_wuest_1992(3e-3) == 4e-4
    assert mass_transfer_wuest_1992(0.3e-3) == pytest.approx(1.8e-4)


def independent(
    depth_ft, scfm, depth_rows, temperature_rows, alpha, source=0.115, froude=1.6, lam=0.8, radius=1e-3
):
    """Solve the published equations anew: (flow, share of oxygen, depth where w falls to 2 mm/s or 0)."""
    d, g, R, p0 = depth_ft * FT, 9.80665, 8.314462618, 101325.0

    def temperature(z):
        return float(np.interp(d - z, depth_rows, temperature_rows))

    def density(t):
        return float(gsw.rho_t_exact(0.0, t, 0.0))

    def henry(t):
        return (2.125 - 0.05021 * t + 5.77e-4 * t * t) / 1e5, (1.042 - 0.02450 * t + 3.171e-4 * t * t) / 1e5

    def slip(r):
        return 4474.0 * r**1.357 if r < 0.7e-3 else 0.23 if r < 5.1e-3 else 4.202 * r**0.547

    def pressure(z):
        return p0 + 1000.0 * g * (d - z)

    moles, t0 = scfm * MOL_S_PER_SCFM, temperature(0.0)
    gas = moles * R * (t0 + 273.15) / pressure(0.0)
    number = gas / (4 / 3 * math.pi * radius**3)

    def derivatives(z, y):
        Q, M, FT_, FO, FN, GO, GN = y
        w, T = M / Q, FT_ / Q
        b = Q / math.sqrt(math.pi * M)
        n = GO + GN
        V = n * R * (T + 273.15) / pressure(z)
        r = (3.0 * V / (4.0 * math.pi * number)) ** (1 / 3)
        u = w + slip(r)
        void = V / (math.pi * (lam * b) ** 2 * u)
        rw, ra = density(T), density(temperature(z))
        rp = (1.0 - void) * rw
        entrained = 2.0 * math.pi * alpha * b * w
        K_O, K_N = henry(T)
        area = 4.0 * math.pi * r * r * number / u * (0.6 * r if r < 0.667e-3 else 4e-4)
        A_O = area * (K_O * GO / n * pressure(z) - FO / Q)
        A_N = area * (K_N * GN / n * pressure(z) - FN / Q)
        nitrogen = 0.78 * henry(temperature(z))[1] * p0
        return [
            entrained,
            math.pi * b * b * g * ((ra - rw) + lam * lam * (rw - rp)) / rp,
            entrained * temperature(z),
            A_O,
            entrained * nitrogen + A_N,
            -A_O,
            -A_N,
        ]

    w0 = 0.3
    for _ in range(200):
        void = gas / (math.pi * source**2 * (w0 + slip(radius)))
        w0 = froude * math.sqrt(2.0 * source * g * void / (1.0 - void))
    Q0 = math.pi * (source / lam) ** 2 * w0
    start = [Q0, Q0 * w0, Q0 * t0, 0.0, Q0 * 0.78 * henry(t0)[1] * p0, 0.21 * moles, 0.79 * moles]

    def slow(z, y):
        return y[1] / y[0] - 0.002

    slow.terminal = True
    end = solve_ivp(derivatives, (0.0, d), start, events=slow, rtol=1e-9, atol=1e-14, max_step=0.02)
    return end.y[0, -1], 1.0 - end.y[5, -1] / (0.21 * moles), d - end.t[-1]


@pytest.mark.parametrize(
    ("depth_ft", "scfm", "stratified", "alpha", "radius"),
    [
        (15.0, 2.0, False, 0.115, 0.5e-3),
        (8.0, 0.4, False, 0.045, 2e-3),
        (10.0, 0.3, True, 0.08, 1e-3),
        (10.0, 1.2, True, 0.10, 0.7e-3),
        (14.0, 0.6, True, 0.06, 6e-3),
    ],
)
def test_a_second_solution_of_the_equations_agrees(depth_ft, scfm, stratified, alpha, radius):
    """An adaptive solution written from the equations, with `gsw` density, agrees to 0.3 %."""
    rows = np.array(SUMMER_DEPTH_FT) * FT if stratified else np.array([0.0])
    values = SUMMER_DEGC if stratified else (26.0,)
    flow, share, ends = independent(depth_ft, scfm, rows, values, alpha, radius=radius)
    water = summer() if stratified else water_of_one_temperature(26.0)
    record, _ = production(depth_ft, scfm, water, alpha, radius=radius)
    assert record[FLOW] == pytest.approx(flow, rel=0.003)
    assert transfer(record, scfm) == pytest.approx(share, rel=0.003)
    assert record[END_DEPTH] == pytest.approx(ends, abs=0.003 * depth_ft * FT)
