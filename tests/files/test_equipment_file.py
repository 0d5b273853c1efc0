"""equipment.csv: the contractor's own compressors read in, bad rows named with their line."""

from __future__ import annotations

import shutil

import pytest

from plumeline.demo import demo_folder
from plumeline.files.equipment_in import FILE, read_equipment
from plumeline.files.findings import Findings
from plumeline.files.job_folder import check_job

HEAD = "name,pressure_psig,intake_flow_cfm,power_w,purchase_each,volts,duty_fraction\n"
GOOD = HEAD + "shop,0,4.9,290,780,115,1\nshop,10,4.0,370,,,\nshop,25,2.1,430,,,\n"
CFM_M3_S = 4.719474432e-4  # by definition of the foot


def read(tmp_path, text):
    """Return what a file gives and what is said of it."""
    (tmp_path / FILE).write_text(text, encoding="utf-8")
    findings = Findings()
    return read_equipment(tmp_path / FILE, findings), [str(fault) for fault in findings.all_faults()]


def test_a_machine_in_trade_units(tmp_path):
    """psi gauge and cfm become pascals and m³/s, one machine of three points."""
    (machine,), faults = read(tmp_path, GOOD)
    assert not faults
    assert machine.name == "shop"
    assert machine.curve[1].pressure_pa == pytest.approx(68947.57, abs=0.01)
    assert machine.curve[1].intake_flow_m3_s == pytest.approx(4.0 * CFM_M3_S)
    assert machine.power_w == (290.0, 370.0, 430.0)
    assert (machine.purchase_each, machine.volts, machine.duty_fraction) == (780.0, 115.0, 1.0)


BAD = [
    (GOOD.replace("10,4.0", "10,5.4"), "row 3", "more air here", "less air at more pressure"),
    (GOOD.replace("shop,25,2.1", "shop,10,2.1"), "row 4", "no higher", "Order its rows"),
    (GOOD.replace("pressure_psig", "pressure_pa"), "row 4", "ends at 25 Pa", "pressure_psig"),
    (GOOD.replace("intake_flow_cfm", "intake_flow_m3_s"), "row 2", "4.9 m³/s", "intake_flow_cfm"),
    (GOOD.replace("430", "0.43"), "row 4", "0.43 W", "power_kw"),
    (GOOD.replace(",780,", ",,"), "row 2", "no price", "what it costs"),
    (GOOD.replace("370,,", "370,790,"), "row 4", "780 and 790", "Say it once"),
    (GOOD.replace("4.0", "-4"), "row 3", "below zero", "4.1 cfm"),
    (GOOD.replace("4.0", "lots"), "row 3", "lots", "4.1 cfm"),
    (HEAD + "shop,0,4.9,290,780,115,1\n", "row 2", "one point only", "two at least"),
    (GOOD.replace("115,1\n", "115,1.5\n"), "row 2", "duty_fraction", "0 to 1"),
    (GOOD.replace("intake_flow_cfm", "air_cfm"), "", "no column of flow", "intake_flow_cfm"),
    (GOOD.replace("370,,,", "370,,,,").replace("290", ""), "row", "", ""),
]


@pytest.mark.parametrize(("text", "row", "problem", "remedy"), BAD)
def test_bad_rows_are_named_with_line_and_remedy(tmp_path, text, row, problem, remedy):
    """Each fault says its line, what is wrong and what would be right; the machine is not used."""
    machines, faults = read(tmp_path, text)
    assert not machines
    assert any(row in fault and problem in fault and remedy in fault for fault in faults), faults


def test_flow_with_its_unit_in_each_cell(tmp_path):
    """The header intake_flow wants the unit in the cell, and takes it."""
    text = GOOD.replace("intake_flow_cfm", "intake_flow").replace(",4.9,", ",4.9 cfm,")
    _, faults = read(tmp_path, text)
    assert any("row 3" in fault and "no unit" in fault for fault in faults)
    whole = text.replace(",4.0,", ",4.0 cfm,").replace(",2.1,", ",59.5 L/min,")
    (machine,), faults = read(tmp_path, whole)
    assert not faults
    assert machine.curve[2].intake_flow_m3_s == pytest.approx(59.5e-3 / 60.0)


def test_it_is_part_of_the_job(tmp_path):
    """A folder's equipment.csv is the job's equipment, and its faults are the folder's."""
    shutil.copytree(demo_folder(), tmp_path / "job")
    (tmp_path / "job" / FILE).write_text(GOOD, encoding="utf-8")
    job = check_job(tmp_path / "job").job
    assert [machine.name for machine in job.equipment] == ["shop"]
    (tmp_path / "job" / FILE).write_text(BAD[0][0], encoding="utf-8")
    assert any(FILE in str(fault) for fault in check_job(tmp_path / "job").faults)
