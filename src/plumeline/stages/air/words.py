"""How the air stage writes its numbers into a sentence: US units with SI beside them."""

from __future__ import annotations

from plumeline.pairs import pair
from plumeline.units import show


def psi(pressure_pa: float) -> str:
    """Return a gauge pressure, as "5.51 psig (38.0 kPa)"."""
    return pair(f"{show(pressure_pa, 'pa')}", f"{pressure_pa / 1000.0:.1f} kPa")


def psi_difference(pressure_pa: float) -> str:
    """Return a difference of pressures, as "0.35 psi (2.4 kPa)"."""
    return pair(f"{pressure_pa / 6894.757293168:.2f} psi", f"{pressure_pa / 1000.0:.1f} kPa")


def psi_fine(pressure_pa: float) -> str:
    """Return a small difference of pressures, as "0.007 psi (0.05 kPa)"."""
    return pair(f"{pressure_pa / 6894.757293168:.3f} psi", f"{pressure_pa / 1000.0:.2f} kPa")


def scfm(flow_standard_m3_s: float) -> str:
    """Return a standard flow, as "1.55 scfm (2.63 m³/h of standard air)"."""
    return pair(
        f"{flow_standard_m3_s / 4.719474432e-4:.2f} scfm",
        f"{3600.0 * flow_standard_m3_s:.2f} m³/h of standard air",
    )


def feet(length_m: float) -> str:
    """Return a length, as "24 ft (7.3 m)"."""
    return pair(f"{length_m / 0.3048:.0f} ft", f"{length_m:.1f} m")


def feet_depth(depth_m: float) -> str:
    """Return a depth to a tenth of a foot, as "9.2 ft (2.80 m)"."""
    return pair(f"{depth_m / 0.3048:.1f} ft", f"{depth_m:.2f} m")


def small(length_m: float) -> str:
    """Return a bore or a hole, as "0.087 in (2.2 mm)"."""
    return pair(f"{length_m / 0.0254:.3f} in", f"{1000.0 * length_m:.1f} mm")


def degf(temperature_degc: float) -> str:
    """Return a temperature, as "140 °F (60 °C)"."""
    return pair(f"{temperature_degc * 1.8 + 32.0:.0f} °F", f"{temperature_degc:.0f} °C")
