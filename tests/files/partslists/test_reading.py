"""Parts lists as tables and as pasted lines."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files import FileProblems
from setwright.files.partslists.kinds import kind_of
from setwright.files.partslists.lines import read_part_line
from setwright.files.partslists.reading import read_parts_list
from setwright.notation import PartValue


def one(text, **options):
    parts = read_part_line(1, text, **options)
    assert isinstance(parts, list), parts
    assert len(parts) == 1
    return parts[0]


@pytest.mark.parametrize(
    ("text", "reference", "value", "words", "number"),
    [
        ("C12 .05 mfd 400 V", "C12", PartValue(5e-8, "F", None, 400), "", None),
        ("C-12: .05 mfd 400 V", "C12", PartValue(5e-8, "F", None, 400), "", None),
        ("c12 = .05/400 paper", "C12", PartValue(5e-8, "F", None, 400), "paper", None),
        ("C12, .05 mfd, 400 V, paper", "C12", PartValue(5e-8, "F", None, 400), "paper", None),
        ("R7 470K 1/2 watt", "R7", PartValue(470e3, "ohm", None, None, 0.5), "", None),
        ("R7 470K 1/2 watt 10% carbon  50-1141", "R7", PartValue(470e3, "ohm", 0.1, None, 0.5), "carbon", "50-1141"),
        ("50-1141 R7 470K", "R7", PartValue(470e3, "ohm"), "", "50-1141"),
        ("R7 50-1141 470K", "R7", PartValue(470e3, "ohm"), "", "50-1141"),
        ("R7 470K part no. A-77", "R7", PartValue(470e3, "ohm"), "", "A-77"),
        ("12) R7 470K", "R7", PartValue(470e3, "ohm"), "", None),
        ("• R 7  470K", "R7", PartValue(470e3, "ohm"), "", None),
        ("L2 filter choke 10 H 320 ohms", "L2", PartValue(10, "H"), "filter choke 320 ohms", None),
        ("T1 power transformer 52-1140", "T1", None, "power transformer", "52-1140"),
        ("C1-A 20 mfd 450 V", "C1A", PartValue(2e-5, "F", None, 450), "", None),
        ("C3. .05 mfd", "C3", PartValue(5e-8, "F"), "", None),
    ],
)
def test_a_line_is_read(text, reference, value, words, number):
    part = one(text)
    assert (part.reference, part.value, part.words, part.number) == (reference, value, words, number)


@pytest.mark.parametrize(
    ("text", "tube"),
    [
        ("V3 6BE6 converter", "6BE6"),
        ("V3 converter, 6be6", "6BE6"),
        ("V2 2nd i-f amplifier 6BA6", "6BA6"),
        ("V5 80", "80"),
        ("V7 VR150-30", "VR150-30"),
        ("V1 6V6GT/G output", "6V6GT/G"),
    ],
)
def test_a_tube_is_told_by_its_type(text, tube):
    assert one(text).tube == tube


@pytest.mark.parametrize(
    ("text", "references"),
    [
        ("C3, C4 & C9 .01 mfd", ["C3", "C4", "C9"]),
        ("C3-C5 .01 mfd", ["C3", "C4", "C5"]),
        ("C3 thru C5, C9 .01 mfd", ["C3", "C4", "C5", "C9"]),
        ("C1A-C1C 20 mfd", ["C1A", "C1B", "C1C"]),
    ],
)
def test_several_references_share_a_line(text, references):
    parts = read_part_line(1, text)
    assert [part.reference for part in parts] == references
    assert len({part.value for part in parts}) == 1


def test_each_section_of_a_can_goes_to_its_own_reference():
    parts = read_part_line(1, "C1A, C1B 40-20 mfd 150 V")
    assert [(part.reference, part.value) for part in parts] == [
        ("C1A", PartValue(4e-5, "F", None, 150)),
        ("C1B", PartValue(2e-5, "F", None, 150)),
    ]
    assert one("C1 40-20 mfd 150 V").sections == (4e-5, 2e-5)


@pytest.mark.parametrize("references", ["C9A, C9B", "C9 A/B", "C9A,B", "C9-A & B"])
def test_sections_are_named_in_several_ways(references):
    parts = read_part_line(1, f"{references}  34-5500  Electrolytic, 40-20 mfd., 150 V.   1.60")
    assert [(part.reference, part.value.value) for part in parts] == [("C9A", 4e-5), ("C9B", 2e-5)]


@pytest.mark.parametrize(
    "price", ["   .25", "  1.60", "  $1.60", " $2", "    -", "  .15 ea.", "  —", "  12.50 each", "  .25 net"]
)
def test_prices_at_the_end_of_a_line_are_left_out(price):
    found = read_parts_list(f"C3  32-1170  .05 mfd., 200 V., paper{price}\n".encode())
    assert (found.parts["C3"].value, found.parts["C3"].words) == (PartValue(5e-8, "F", None, 200), "paper")
    assert "prices" in found.passed_over[0]


def test_a_value_without_unit_is_not_taken_for_a_price():
    assert read_parts_list(b"C3   .05\n").parts["C3"].value == PartValue(5e-8, "F")
    assert read_parts_list(b"Ref,Value\nC3,.05\n").parts["C3"].value == PartValue(5e-8, "F")
    assert '".05" needs a unit' in read_parts_list(b"R1 1 k\nC3 paper   .05\n").unread[0].why


def test_a_gang_or_trimmer_needs_no_value():
    part = one("C1  30-1001  Tuning gang, 2 section")
    assert (part.value, part.kind.permanence, part.number) == (None, "riveted", "30-1001")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("see page 12", "no reference"),
        ("X12", "nothing is said about X12"),
        ("R4 470M 1/2 W", "two ways"),
        ("R5 470 kohn", '"470 kohm" is'),
        ("C5 20 450 V", '"20 mfd" or "20 mmf"'),
        ("R6 see note 3", '"3" needs a unit'),
        ("R6 470K 1 meg", "two values"),
    ],
)
def test_a_line_that_is_not_understood_says_why(text, why):
    assert why in read_part_line(7, text).why


def test_m_means_thousand_where_it_is_said():
    assert one("R4 470M 1/2 W", m_means_thousand=True).value == PartValue(470e3, "ohm", None, None, 0.5)


PASTED = b"""LARKSPUR 11
CAPACITORS
# my remark
C12 .05 mfd 400 V

C13 .02 mfd 600 V
C14 500 what
C13 .01 mfd 600 V
C12 .05 mfd 400 V
"""


def test_every_line_is_accounted_for():
    found = read_parts_list(PASTED, "early")
    assert list(found.parts) == ["C12", "C13"]
    assert [(unread.line, unread.references) for unread in found.unread] == [(1, ()), (7, ("C14",)), (8, ())]
    assert "C13 stands on line 6 already" in found.unread[2].why
    assert found.passed_over == ('line 2: heading "CAPACITORS"', "line 9: C12 again, as on line 4")
    assert found.part("C14").unread
    assert found.part("C99") is None


TABLES = [
    b"Ref,Value,Voltage,Description,Part No.\nC12,.05 mfd,400,paper,50-1\nR7,470K,,\xc2\xbd watt,50-2\n",
    b"Symbol;Value;Volts;Description;Part number\r\nC12;0,05 uF;400;paper;50-1\r\nR7;470K;;1/2 watt;50-2\r\n",
    b"Part No.\tSchematic location\tDescription\n50-1\tC12\t.05 mfd 400 V paper\n50-2\tR7\t470K 1/2 W\n",
    b'\xef\xbb\xbfRef.,Mfd,V,Ohms,Watts,Notes,Part #\nC12,.05,400,,,"paper\ntubular",50-1\nR7,,,"470,000",1/2,,50-2\n',
    "Ref|Capacity|Rating|Name|Part no\nC12|.05 mfd|400 V|paper|50-1\nR7|470K|½ W||50-2\n".encode("utf-16"),
    "Ref,Value,Rating,Type,Stock no\nC12,.05 µF,400 V,paper,50-1\nR7,470K,½ W,,50-2\n".encode("cp1252"),
]


@pytest.mark.parametrize("content", TABLES)
def test_tables_of_any_layout(content):
    found = read_parts_list(content)
    assert not found.unread
    assert found.parts["C12"].value == PartValue(5e-8, "F", None, 400)
    assert found.parts["R7"].value == PartValue(470e3, "ohm", None, None, 0.5)
    assert (found.parts["C12"].made, found.parts["C12"].number) == ("paper", "50-1")


def test_lines_of_a_table_keep_their_numbers():
    found = read_parts_list(b'Larkspur\nRef,Value,Price\nC12,".05\nmfd",1\nC13,500 what,2\nC14,.05 mfd,1,extra,cell\n')
    assert [unread.line for unread in found.unread] == [5, 6]
    assert "5 cells stand under 3 columns" in found.unread[1].why
    assert found.passed_over == ('line 1: "Larkspur" before the header row', 'column "Price" is not compared')


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no part was found"),
        (b"nothing of use\n", 'line 1 "nothing of use": no reference'),
        (b"PK\x03\x04xx", "spreadsheet workbook"),
        (b"C12 .05 mfd\0", "not plain text"),
        (b"R1 1 k\n" * 5001, "5,001 lines"),
        (b"R1 1 k " * 150_000, "1.1 MB large"),
    ],
)
def test_a_file_without_parts_is_refused(content, words):
    with pytest.raises(FileProblems, match=words):
        read_parts_list(content, name="list.txt")


def test_a_line_of_any_length_ends():
    long = ["C1 " + "1/" * 20_000, "R1 " + " " * 50_000 + "x", "C2 " + "+-" * 400, "C3" + ", C3" * 200]
    found = read_parts_list("\n".join(["R9 1 k", *long, "R2 " + "1 " * 450]).encode())
    assert "characters long" in found.unread[0].why


PIECES = ["C1", "C1-", "C1,", "A,", "A/", "R", "1/", "1 ", "- ", "+-", "1,000", "1-1/2", "1e5", ",05", "%", " mfd", "k"]
PIECES += ["M", " per cent", " and ", " at ", "@", ".", "  ", "part no", "wire wound ", " ohms", "V", "½", " thru "]


@given(st.lists(st.sampled_from(PIECES), max_size=12), st.integers(1, 12))
def test_any_line_of_the_lists_own_pieces_is_read_or_refused(pieces, times):
    found = read_part_line(1, "".join(pieces) * times)
    assert isinstance(found, list) or found.why


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text):
    try:
        found = read_parts_list(text.encode("utf-8", "surrogatepass"))
    except FileProblems:
        return
    assert found.parts


@given(
    st.lists(
        st.tuples(
            st.sampled_from(("C1", "C2", "R1", "V1", "T1", "L1", "x", "")),
            st.text(alphabet='0123456789 .,;/-%|\t"MKkmfdohsvVWpaer', max_size=25),
        ),
        max_size=8,
    )
)
def test_no_line_is_lost(lines):
    text = "\n".join(" ".join(line) for line in lines)
    try:
        found = read_parts_list(text.encode())
    except FileProblems:
        return
    mentioned = {part.line for part in found.parts.values()} | {unread.line for unread in found.unread}
    for number, line in enumerate(text.split("\n"), start=1):
        passed_over = any(f"line {number}:" in one for one in found.passed_over)
        assert number in mentioned or passed_over or not line.strip()


@pytest.mark.parametrize(
    ("letters", "words", "value", "access", "permanence"),
    [
        ("C", "paper", 5e-8, "underside", "consumable"),
        ("C", "", 5e-8, "underside", "consumable"),
        ("C", "mica", 5e-10, "underside", "soldered"),
        ("C", "", 5e-10, "underside", "soldered"),
        ("C", "electrolytic", 2e-5, "underside", "consumable"),
        ("C", "trimmer", None, "chassis out", "riveted"),
        ("R", "", 470e3, "underside", "soldered"),
        ("R", "volume control", 5e5, "chassis out", "soldered"),
        ("L", "oscillator coil", None, "underside", "soldered"),
        ("L", "filter choke", 10.0, "chassis out", "riveted"),
        ("V", "converter", None, "back off", "plugged"),
        ("T", "output transformer", None, "chassis out", "riveted"),
        ("M", "model label", None, "outside", "stamped"),
        ("M", "knob, tuning", None, "outside", "plugged"),
        ("CR", "selenium rectifier", None, "underside", "consumable"),
        ("I", "pilot lamp", None, "back off", "consumable"),
    ],
)
def test_access_and_permanence_by_kind(letters, words, value, access, permanence):
    kind = kind_of(letters, words, value)
    assert (kind.access, kind.permanence) == (access, permanence)
