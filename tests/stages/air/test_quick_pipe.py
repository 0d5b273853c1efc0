"""One pipe by itself: what is refused, and how it scales."""

import subprocess
import sys

import pytest

from plumeline.errors import InputError, ModelError
from plumeline.stages.air import quick_pipe

GOOD = {
    "flow_standard_m3_s": 1.2e-3,
    "length_m": 100.0,
    "bore_m": 0.0209,
    "inlet_pressure_pa": 4e4,
    "temperature_degc": 30.0,
}


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"length_m": 0.0}, "--length"),
        ({"length_m": float("nan")}, "--length"),
        ({"bore_m": 0.0}, "--bore"),
        ({"flow_standard_m3_s": -1e-3}, "--air"),
        ({"inlet_pressure_pa": -1.0}, "--inlet-pressure"),
        ({"temperature_degc": 400.0}, "--temperature"),
        ({"roughness_m": 0.01}, "--roughness"),
    ],
)
def test_what_no_pipe_can_be_is_refused(change, place):
    """Each fault names its option."""
    with pytest.raises(InputError) as error:
        quick_pipe(**{**GOOD, **change})
    assert error.value.place == place
    assert error.value.remedy


def test_too_much_air_is_refused():
    """More than the pipe can carry is an error with the way out, never a negative pressure."""
    with pytest.raises(ModelError) as error:
        quick_pipe(**{**GOOD, "flow_standard_m3_s": 0.1})
    assert "larger bore" in error.value.remedy


def test_no_air_loses_nothing():
    """Zero flow: no drop, no velocity."""
    found = quick_pipe(**{**GOOD, "flow_standard_m3_s": 0.0})
    assert (found.pressure_drop_pa, found.velocity_m_s, found.reynolds_number) == (0.0, 0.0, 0.0)


def test_transition_is_noted():
    """Between Re 2,000 and 4,000 the answer says that friction is uncertain."""
    assert [notice.code for notice in quick_pipe(**{**GOOD, "flow_standard_m3_s": 7e-4}).notices] == [
        "air-transition"
    ]
    assert not quick_pipe(**GOOD).notices


def test_half_the_pipe_loses_its_half_of_the_squares():
    """p1² − p2² is in proportion to the length where 2 ln(p1/p2) is small: to 0.1 %."""

    def squares(length_m):
        found = quick_pipe(**{**GOOD, "length_m": length_m})
        inlet_pa = 101325.0 + GOOD["inlet_pressure_pa"]
        return inlet_pa**2 - (inlet_pa - found.pressure_drop_pa) ** 2

    assert squares(100.0) == pytest.approx(2.0 * squares(50.0), rel=1e-3)


def test_one_pipe_does_not_load_the_compiled_network():
    """The quick answer starts fast: numba is not imported."""
    code = "import sys; from plumeline.stages.air import quick_pipe; print({'numba'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"
