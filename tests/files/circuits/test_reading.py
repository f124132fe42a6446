"""Circuit files: what is read, and what every mistake is told."""

from __future__ import annotations

import pytest

from setwright.circuits import UnsoundCircuit, expect
from setwright.circuits.checks import check
from setwright.files import FileProblems
from setwright.files.circuits.reading import read_circuit

GOOD = """\
format = "setwright-circuit/1"
id = "five-tube"
ground = "chassis"
m_means_thousand = false
[[part]]
ref = "T1.a"
kind = "winding"
volts_rms = 325
ohms = 110
phase = 0
nodes = ["V5.p1", "chassis"]
[[part]]
ref = "T1.b"
kind = "winding"
volts_rms = 325
ohms = 110
phase = 180
nodes = ["V5.p2", "chassis"]
[[part]]
ref = "L2"
kind = "inductor"
value = "10 H"
ohms = 320
nodes = ["B1", "B+"]
[[part]]
ref = "C1"
kind = "capacitor"
value = "8 mfd 450 V"
can = "C1"
nodes = ["B1", "chassis"]
[[part]]
ref = "C2"
kind = "capacitor"
value = "16 mfd 450 V"
nodes = ["B+", "chassis"]
[[part]]
ref = "R12"
kind = "resistor"
value = "470k"
tolerance = 0.2
rated_watts = 0.5
construction = "carbon composition"
nodes = ["V3.plate", "B+"]
[[part]]
ref = "R20"
kind = "potentiometer"
value = "500k"
position = 0.5
nodes = ["det", "V3.grid", "chassis"]
[[part]]
ref = "R21"
kind = "resistor"
value = "1 meg"
nodes = ["det", "chassis"]
[[part]]
ref = "AUX"
kind = "load"
amps = 0.03
nodes = ["B+", "chassis"]
[[tube]]
ref = "V3"
type = "12AV6"
section = "triode"
nodes = { plate = "V3.plate", grid = "V3.grid", cathode = "chassis", heater = ["H1", "H2"] }
[[tube]]
ref = "V5"
type = "5Y3GT"
section = "1"
nodes = { plate = "V5.p1", cathode = "B1" }
[[tube]]
ref = "V5"
type = "5Y3GT"
section = "2"
nodes = { plate = "V5.p2", cathode = "B1" }
"""


def refused(text: str) -> str:
    with pytest.raises(FileProblems) as failure:
        read_circuit(text.encode(), None, "c.toml")
    return str(failure.value)


def test_a_sound_file_is_read_and_computes() -> None:
    circuit = read_circuit(GOOD.encode(), None, "c.toml").circuit
    assert circuit.part("R12").value == 470e3
    assert circuit.part("L2").ohms == 320.0
    assert circuit.part("T1.b").phase == 180.0
    assert circuit.tubes[0].heater == ("H1", "H2")
    volts = {p.point: p.value for p in expect(circuit).points}
    assert 300.0 < volts["B+"] < 460.0


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('value = "470k"', 'value = "-470k"', "negative"),
        ('value = "470k"', 'value = "470M"', "two ways"),
        ('value = "470k"\n', "", "needs its value"),
        ("ohms = 320", "ohms = -320", "resistance of -320 cannot be"),
        ("amps = 0.03", "volts = 0.03", "has no volts"),
        ('nodes = ["V3.plate", "B+"]', 'nodes = ["V3.plate", "B ++"]', "no direct current can flow between"),
        ('nodes = ["V3.plate", "B+"]', 'nodes = ["B+", "B+"]', "both ends are on B+"),
        ('nodes = ["det", "V3.grid", "chassis"]', 'nodes = ["det", "chassis"]', "three nodes"),
        ('grid = "V3.grid", ', "", "the grid of V3 (triode) is not connected"),
        ('grid = "V3.grid"', 'gird = "V3.grid"', "no electrode known here"),
        ('type = "12AV6"', 'type = "12 av6"', 'Did you mean "12AV6"'),
        ('section = "triode"\n', "", "has the sections triode, diode 1, diode 2"),
        ('section = "2"', 'section = "1"', "drawn twice"),
        ('ref = "C2"', 'ref = "C1"', "taken by an earlier part"),
        ('ground = "chassis"', 'ground = "chasis"', "ground"),
        ('kind = "load"', 'kind = "lode"', 'Did you mean "load"'),
        ('heater = ["H1", "H2"]', 'heater = "H1"', "a heater has two nodes"),
        ("tolerance = 0.2", 'tolerance = "20%"', "must be a number"),
        ('format = "setwright-circuit/1"', 'format = "setwright-family/1"', "family file"),
    ],
)
def test_mistakes_are_told_where_they_stand(old: str, new: str, told: str) -> None:
    assert GOOD.count(old) >= 1
    said = refused(GOOD.replace(old, new, 1))
    assert told in said
    assert "c.toml" in said


def test_all_problems_come_in_one_answer() -> None:
    said = refused(GOOD.replace('value = "470k"', 'value = "x"').replace('type = "12AV6"', 'type = "99ZZ9"'))
    assert len(said.splitlines()) == 2


def test_a_source_in_millivolts_is_asked_about() -> None:
    said = refused(GOOD + '[[part]]\nref = "B"\nkind = "source"\nvolts = 0.25\nnodes = ["det", "chassis"]\n')
    assert "millivolts" in said
    assert '"250"' in said


def test_a_type_of_its_own_by_its_points() -> None:
    own = """
[[tube_type]]
id = "rare-pentode"
kind = "pentode"
point = [{ plate_volts = 250, screen_volts = 100, grid_volts = -3, plate_amps = 0.009, screen_amps = 0.002 }]
source = "maker's data sheet, 1941"
[[part]]
ref = "RK"
kind = "resistor"
value = "270 ohms"
nodes = ["k", "chassis"]
[[part]]
ref = "RG"
kind = "resistor"
value = "1 meg"
nodes = ["g", "chassis"]
[[tube]]
ref = "V9"
type = "rare-pentode"
nodes = { plate = "B+", grid1 = "g", grid2 = "B+", cathode = "k" }
"""
    answer = expect(read_circuit((GOOD + own).encode(), None, "c.toml").circuit)
    assert next(t for t in answer.tubes if t.ref == "V9").plate_amps > 0.002
    assert "screen_volts" in refused(GOOD + own.replace("screen_volts = 100, ", ""))


def test_a_feature_needs_its_family() -> None:
    assert "say whose" in refused(GOOD.replace("tolerance = 0.2", 'feature = "first-audio-load"'))


def test_a_sound_drawing_needs_no_file() -> None:
    circuit = read_circuit(GOOD.encode(), None, "c.toml").circuit
    assert len(check(circuit)) == 3
    with pytest.raises(UnsoundCircuit, match="cannot be"):
        check(circuit.with_part("R12", value=-1.0))
