"""The solubility law of the bubbles: the program's own, or the polynomials of the published plume cases.

Law 0 is the program's: Benson & Krause for oxygen, Hamme & Emerson for nitrogen, dry partial pressures, so
that plume and surface come to rest at the same oxygen. Law 1 reproduces the published cases: the
polynomials of Wüest 1992, no vapour, air of 21 % oxygen over water with nitrogen at 78 % of the air.
Argon is counted with nitrogen.
"""

from __future__ import annotations

from plumeline.kernels.jit import fast_kernel
from plumeline.kernels.lane_relations import (
    solubility_nitrogen_hamme_emerson_2004,
    solubility_nitrogen_wuest_1992,
    solubility_oxygen_benson_krause_1984,
    solubility_oxygen_wuest_1992,
    vapour_pressure_benson_krause_1980,
)
from plumeline.science import gases

PROGRAM_LAW = 0.0
WUEST_LAW = 1.0
OXYGEN_MOLAR_MASS_G_MOL = gases.OXYGEN_MOLAR_MASS_G_MOL
OXYGEN_IN_AIR_FRACTION = gases.OXYGEN_IN_AIR_FRACTION
PER_PASCAL = 1e-5


@fast_kernel
def oxygen_share(law: float) -> float:
    """Return the mole fraction of oxygen in the air that leaves the diffuser [-]."""
    return 0.21 if law == WUEST_LAW else OXYGEN_IN_AIR_FRACTION


@fast_kernel
def solubilities(temperature_degc: float, salinity_g_kg: float, law: float) -> tuple[float, float, float]:
    """Return the Henry coefficients of oxygen and nitrogen [mol/(m³·Pa)] and the vapour pressure [Pa]."""
    if law == WUEST_LAW:
        return (
            PER_PASCAL * solubility_oxygen_wuest_1992(temperature_degc),
            PER_PASCAL * solubility_nitrogen_wuest_1992(temperature_degc),
            0.0,
        )
    return (
        PER_PASCAL * solubility_oxygen_benson_krause_1984(temperature_degc, salinity_g_kg),
        PER_PASCAL * solubility_nitrogen_hamme_emerson_2004(temperature_degc, salinity_g_kg),
        vapour_pressure_benson_krause_1980(temperature_degc),
    )


@fast_kernel
def nitrogen_in_equilibrium(
    temperature_degc: float, salinity_g_kg: float, surface_pressure_pa: float, law: float
) -> float:
    """Return the nitrogen of water in equilibrium with the air above the pond [mol/m³]."""
    _, K_N, e_s = solubilities(temperature_degc, salinity_g_kg, law)
    share = 0.78 if law == WUEST_LAW else 1.0 - OXYGEN_IN_AIR_FRACTION
    return share * K_N * (surface_pressure_pa - e_s)
