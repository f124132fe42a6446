"""Whatever a reader is given, it reads it or says what is wrong: no other exception, bounded memory.

Each input is made from a sound file by a few random changes, its number being the seed. The fast tier takes
some of them, the slow tier all: more than 20,000 over the three readers.
"""

# A table of cases reads best with one case a line.
# ruff: noqa: E501

from __future__ import annotations

import random
import subprocess
import sys

import pytest

from setwright.files import FileProblems, read_family, read_set, read_survivors
from setwright.files.source_text import SourceBytes
from setwright.files.survivors.columns import known_names
from setwright.files.survivors.csv_text import open_csv
from setwright.files.survivors.large import read_columns

TOML_PIECES = (
    b'"', b"'", b'"""', b"'''", b"[", b"]", b"[[", b"]]", b"{", b"}", b"=", b"#", b"\n", b"\r\n", b"\r", b",", b".", b"\\",
    b"\\u0000", b"\\uD800", b"\x00", b"\xff", b"\xc3", b"\xef\xbb\xbf", b"nan", b"inf", b"-inf", b"1e999", b"true", b"1948-03-09",
    b"07:32:00", b"0x7fffffffffffffffffff", b"9" * 400, b"-1", b"1_000", b"[feature]", b"[[feature]]", b"[[version]]",
    b"[[cutin]]", b"[[observation]]", b"[[serial_block]]", b"[[line]]", b"[feature.x]", b'id = "a"', b"states = []", b"states = 3",
    b'states = ["a", "a"]', b'lines = ["main"]', b'based_on = "late"', b'based_on = "early"', b"after = 5", b"before = 5",
    b'unit = "ohm"', b'unit = "F"', b"tolerance = 1e-300", b"tolerance = 1", b"altered = 1e-320", b"altered = 0.999999",
    b'states = ["1/0", "0"]', b'"470M"', b'"1e400 F"', b'"\xe2\x82\xac"', b'serial = "' + b"?" * 39 + b'"', b'serial = "*?*?*8"',
    b'line = "main"', b'line = "x"', b'shares_cutins_with = "main"', b"first = 1", b"last = 999999999999", b"starts_at = 0",
    b'prefix = "B2"', b'kind = "part"', b'code = "8?1"', b'scheme = "year-week"', b'date = "0000-00"', b'date = "1948-W54"',
    b"cannot_tell = true", b'how = "measured"', b"a.b.c.d.e.f.g = 1", b"  ", b"\t", b"\x0b", b"\xc2\x85", b"\xe2\x80\xa8",
)  # fmt: skip
CSV_PIECES = (
    b",", b";", b"\t", b"|", b'"', b'""', b"\n", b"\r\n", b"\r", b"\x00", b"\xff", b"\xe4", b"\x81", b"\xef\xbb\xbf", b"\xff\xfe",
    b"sep=;\n", b"sep=,\n", b"id", b"serial", b"line", b"converter", b"converter.sure", b"converter.serviced", b"note", b"x-1",
    b"part_date.speaker", b"stamp_date", b"=1+1", b"+1", b"-", b"@SUM(1)", b"7.1E+4", b"12-Mar", b"1948-W31", b"year-week:831",
    b"6be6", b"other: 6BE-6", b"other:", b"470M", b"*", b"?" * 39, b"B1?", b"A" * 50, b"9" * 20, b"\xc2\xa0", b"\xe2\x80\x8b", b"main",
    b"true", b"\xe2\x80\xa8", b"\x0c", b"\x1c", b"\x01end of register\x01", b"\nend of the register",
)  # fmt: skip
BLOCKS = (
    '[[serial_block]]\nprefix = "A"\nfirst = 1\nlast = 900\n[[cutin]]\nfeature = "converter"\nafter = 3\nbefore = 9\n'
)
OBSERVATIONS = (
    '[[observation]]\nfeature = "converter"\nstate = "6BE6"\n[[observation]]\nfeature = "tone-capacitor"\nstate = ".021 mfd"\n'
    'how = "measured"\n[[date_evidence]]\nkind = "part"\ncode = "8?1"\nscheme = "year-week"\npart = "speaker"\n'
)
REGISTER = "id,serial,line,converter,converter.sure,tone-capacitor,stamp_date,part_date.speaker,note\n" + "".join(
    f's{i},{i * 700 + 1},main,{["6SB7Y", "6BE6", ""][i % 3]},{["guess", ""][i % 2]},.02 mfd,1948-0{i % 9 + 1},year-week:8{i}1,"a, b"\n'
    for i in range(6)
)


def mutated(text: bytes, pieces: tuple[bytes, ...], seed: int) -> bytes:
    """The text after one to six random changes: bytes and lines changed, moved, doubled, taken out; pieces put in."""
    chance = random.Random(seed)
    data = bytearray(text)
    for _ in range(chance.choice([1, 1, 1, 2, 2, 3, 6])):
        at = chance.randrange(len(data) + 1)
        lines = bytes(data).splitlines(keepends=True)
        match chance.randrange(8):
            case 0 if data:
                data[at % len(data)] = chance.randrange(256)
            case 1:
                del data[at : at + chance.choice([1, 1, 2, 5, 40])]
            case 2 | 3:
                data[at:at] = chance.choice(pieces)
            case 4 if lines:
                line = chance.choice(lines)
                data[at:at] = line * chance.choice([1, 1, 2, 20])
            case 5 if lines:
                chance.shuffle(lines)
                data = bytearray(b"".join(lines))
            case 6 if lines:
                number = chance.randrange(len(lines))
                key, equals, _ = lines[number].partition(b"=")
                lines[number] = key + equals + chance.choice(pieces) + b"\n"
                data = bytearray(b"".join(lines))
            case _:
                del data[at:]
    return bytes(data)


def outcome(read, seed: int) -> str:
    """The problems of one input as text, "" where it was read, the exception's own words where it was another."""
    try:
        read(seed)
    except FileProblems as failure:
        return str(failure)
    except Exception as error:  # noqa: BLE001 - any other exception is what is looked for
        return f"CRASH {error!r}"
    return ""


def check(read, seeds: range) -> int:
    """Read every input; anything but FileProblems is told with its seed. How many were refused."""
    outcomes = {seed: outcome(read, seed) for seed in seeds}
    crashes = {seed: text for seed, text in outcomes.items() if text.startswith("CRASH")}
    assert crashes == {}
    return sum(bool(text) for text in outcomes.values())


@pytest.fixture
def readers(family, family_text, set_text):
    bench = read_set(set_text.encode(), family).set

    def survivors(seed: int) -> None:
        data = mutated(REGISTER.encode(), CSV_PIECES, seed)
        text = open_csv(SourceBytes("fuzz", data), known_names(family))
        read_columns(text, family, bench)
        read_survivors(data, family, bench=bench)

    return {
        "family": lambda seed: read_family(mutated((family_text + BLOCKS).encode(), TOML_PIECES, seed)),
        "set": lambda seed: read_set(mutated((set_text + OBSERVATIONS).encode(), TOML_PIECES, seed), family),
        "survivors": survivors,
    }


@pytest.mark.parametrize("name", ["family", "set", "survivors"])
def test_mutated_files_are_read_or_refused(name, readers):
    refused = check(readers[name], range(500))
    assert 50 < refused < 500, "the changes must neither spare nor break everything"


@pytest.mark.slow
@pytest.mark.parametrize("name", ["family", "set", "survivors"])
def test_many_mutated_files_are_read_or_refused(name, readers):
    check(readers[name], range(500, 7_500))


@pytest.mark.slow
def test_random_bytes_are_refused(family):
    for seed in range(1_000):
        chance = random.Random(seed)
        data = chance.randbytes(chance.randrange(300))
        for read in (read_family, lambda d: read_set(d, family), lambda d: read_survivors(d, family)):
            with pytest.raises(FileProblems):
                read(data)


HOSTILE = {
    "family, brackets": ("family", "b'a = ' + b'[' * 4_900_000"),
    "family, closed brackets": ("family", "b'a = ' + b'[' * 900 + b']' * 900"),
    "family, tables in braces": ("family", "b'a = ' + b'{a=' * 1_600_000"),
    "family, tables": ("family", "b'[[feature]]\\n' * 400_000"),
    "family, sources": ("family", "b''.join(b'[[source]]\\nid=\"a\"\\n' for _ in range(200_000))"),
    "family, keys": ("family", "b''.join(b'k%d=1\\n' % i for i in range(400_000))"),
    "family, a dotted key": ("family", "b'a' + b'.a' * 2_000 + b' = 1'"),
    "family, one text": ("family", "b'name = \"' + b'x' * 4_900_000 + b'\"'"),
    "family, one number": ("family", "b'first_serial = ' + b'9' * 4_900_000"),
    "family, states": ("family", "HEAD + FEATURE + b'states = [' + b'\"a\",' * 1_200_000 + b']'"),
    "family, versions": ("family", "HEAD + b''.join(b'[[version]]\\nid=\"v%d\"\\nbased_on=\"v%d\"\\n' % (i, i + 1) for i in range(999))"),
    "family, cut-ins": ("family", "HEAD + FEATURE + b'states=[\"a\",\"b\"]\\n' + b''.join(b'[[cutin]]\\nfeature=\"f\"\\nafter=%d\\n' % i for i in range(100_000))"),
    "set, observations": ("set", "SET + b'[[observation]]\\nfeature=\"f\"\\nstate=\"a\"\\n' * 100_000"),
    "set, a serial": ("set", "SET + b'serial = \"' + b'?*' * 49 + b'\"'"),
    "survivors, columns": ("survivors", "b'id' + b',x-a' * 1_000_000"),
    "survivors, names": ("survivors", "b','.join(b'x-%d' % i for i in range(200_000))"),
    "survivors, commas": ("survivors", "b'id\\n' + b',' * 100_000_000"),
    "survivors, blank lines": ("survivors", "b'id\\n' + b'\\n' * 10_000_000"),
    "survivors, quotes": ("survivors", "b'id\\n' + b'\"' * 50_000_000"),
    "survivors, one line": ("survivors", "b'id' + b'x' * 100_000_000"),
    "survivors, problems": ("survivors", "b'id,serial\\n' + b'a,b\\n' * 2_000_000"),
    "survivors, serials": ("survivors", "b'id,serial\\n' + b''.join(b's%d,?%d*\\n' % (i, i % 10) for i in range(50_000))"),
    "survivors, states": ("survivors", "b'id,f\\n' + b''.join(b'%d,state %d\\n' % (i, i) for i in range(1_000_000))"),
}  # fmt: skip
CHILD = """
import resource, sys
from setwright.files import FileProblems, read_family, read_set, read_survivors
import setwright.files.survivors.large
HEAD = b'format="setwright-family/1"\\nid="f"\\nname="F"\\nkind="radio"\\nlast_serial=100000\\n'
FEATURE = b'[[feature]]\\nid="f"\\naccess="outside"\\npermanence="stamped"\\n'
SET = b'format="setwright-set/1"\\nid="s"\\nfamily="f"\\n'
family = read_family(HEAD + FEATURE + b'states=["a","b"]').family
resource.setrlimit(resource.RLIMIT_DATA, (2_500_000_000, 2_500_000_000))
kind, made = sys.argv[1:]
data = eval(made)
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
try:
    {"family": read_family, "set": lambda d: read_set(d, family), "survivors": lambda d: read_survivors(d, family)}[kind](data)
    print("read")
except FileProblems as failure:
    print("refused", failure.problems[0])
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) * 1024)
"""


@pytest.mark.slow
@pytest.mark.parametrize("case", HOSTILE)
def test_large_hostile_files_take_bounded_memory(case):
    """At most 1.5 GB beside the file itself, whatever it holds, and an answer in time."""
    kind, made = HOSTILE[case]
    done = subprocess.run(
        [sys.executable, "-c", CHILD, kind, made], capture_output=True, text=True, timeout=300, check=False
    )
    assert done.returncode == 0, done.stderr[-2000:]
    *_, grown = done.stdout.split()
    assert int(grown) < 1_500_000_000, done.stdout
