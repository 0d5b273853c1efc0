"""The air command on a folder without a pond whose air line is a tree with two manifolds."""

import json

import pytest

from plumeline.cli.tables import WIDTH, cells

TREE = """\
format = 1
name = "Two manifolds"
date = 2026-08-11

[site]
latitude_longitude_elevation = "35.8652, -79.5631, 2500 ft"
time_zone = "America/New_York"

[air]
intake_temperature = "90 degF"
membrane = [{air = "0.5 scfm", loss = "0.35 psi"}, {air = "2 scfm", loss = "0.8 psi"}]

[air.compressor]
curve = [
  {pressure = "0 psig", intake_flow = "5.2 cfm"},
  {pressure = "10 psig", intake_flow = "4.1 cfm"},
  {pressure = "20 psig", intake_flow = "2.5 cfm"},
]
relief_pressure = "15 psig"

[[air.trunk]]
pipe = "pe-3/4"
length = "300 ft"
cover = "18 in"
fittings = [{name = "elbow-90", count = 4}]

[[air.lines]]
name = "north"
pipe = "pe-3/4"
length = "120 ft"
cover = "18 in"

[[air.diffusers]]
name = "D1"
depth = "7 ft"
branch_length = "90 ft"

[[air.diffusers]]
name = "D2"
depth = "9 ft"
branch_length = "140 ft"
valve = "globe"

[[air.diffusers]]
name = "D3"
depth = "10 ft"
branch_length = "200 ft"
hangs_from = "north"
check_valve = "0.3 psi"
"""


@pytest.fixture
def folder(tmp_path):
    """Return a function that writes the folder, a piece of it exchanged."""

    def write(old="", new=""):
        assert old in TREE
        (tmp_path / "job.toml").write_text(TREE.replace(old, new) if old else TREE, encoding="utf-8")
        return str(tmp_path)

    return write


@pytest.mark.parametrize(("units", "mode"), [("us", "equal"), ("si", "depth")])
def test_the_tables_show_the_trap_and_the_valves(run, folder, units, mode):
    """All open the deepest is dead; as set it runs; the steps stand below; nothing is wider than 80."""
    code, out, _err = run("air", folder(), "--units", units, "--balance", mode)
    assert code == 0
    assert max(cells(line) for line in out.splitlines()) <= WIDTH
    row = next(line for line in out.splitlines() if line.startswith("D3") and "full open" in line)
    assert "dead" in row
    assert "Setting the valves" in out
    assert "gauge at the end of north" in out
    assert {"us": "68 °F, dry, 14.696 psia", "si": "20 °C, dry, 101.3 kPa"}[units] in " ".join(out.split())


def test_json_gives_flows_settings_and_their_price(run, folder):
    """Shares by depth stand as 7 : 9 : 10, with the port of each valve and what it costs at the compressor."""
    code, out, _err = run("air", folder(), "--balance", "depth", "--json")
    assert code == 0
    found = json.loads(out)["air"]
    flows = [branch["flow_standard_m3_s"] for branch in found["balanced"]["branches"]]
    assert [flow / flows[0] for flow in flows] == pytest.approx([1.0, 9.0 / 7.0, 10.0 / 7.0], rel=1e-6)
    assert found["balancing"]["mode"] == "depth"
    assert found["balancing"]["cost_pa"] > 3000.0
    assert [valve["kind"] for valve in found["valves"]] == ["ball", "globe", "ball"]
    assert found["valves"][2]["pressure_drop_pa"] == 0.0
    assert found["balanced"]["flow_basis"] == "68 °F, dry, 14.696 psia"


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('hangs_from = "north"', 'hangs_from = "south"', "D3 hangs from 'south', which is not there"),
        ('name = "north"', 'name = "north"\nhangs_from = "north"', "not a tree: north hangs from north"),
        ('length = "120 ft"', 'length = "0 ft"', "air.lines[1].length: 0 ft is not more than 0"),
        ('"5.2 cfm"', '"520 cfm"', "times less air than the point before"),
        ('"4.1 cfm"', '"6.1 cfm"', "gives more air at a higher pressure"),
        ('"10 psig"', '"-10 psig"', "below the limit"),
        ('valve = "globe"', 'valve = "glob"', "no curve for a valve of kind 'glob'"),
        ("elbow-90", "elbw-90", "no fitting named 'elbw-90'"),
        ('loss = "0.8 psi"', 'loss = "0.2 psi"', "out of order with the point before"),
        ('depth = "7 ft"', 'depth = "7 ft"\nserved_volume = "-3 m3"', "served_volume"),
    ],
)  # fmt: skip
def test_bad_trees_are_faults_in_words(run, folder, old, new, words):
    """Exit 1, no answer, and a sentence that says where."""
    code, out, err = run("air", folder(old, new))
    assert (code, out) == (1, "")
    assert words in " ".join(err.split())


def test_a_bore_over_the_outside_diameter_is_refused(run, folder):
    """1.2 in of bore in a 3/4 in pipe."""
    code, _out, err = run(
        "air",
        folder('pipe = "pe-3/4"\nlength = "300 ft"', 'pipe = "pe-3/4"\nbore = "1.2 in"\nlength = "300 ft"'),
    )
    assert code == 1
    assert "not smaller than the outside diameter" in err
