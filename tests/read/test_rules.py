"""The rules file: every section read, every fault named with its place."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from renet.errors import RulesError
from renet.read.rules import SECTIONS, read_rules
from renet.rules import (
    Apart,
    Beside,
    Domain,
    Keep,
    Mate,
    Needs,
    Offers,
    Order,
    Pair,
    Peripheral,
    Pool,
    Rules,
    Signal,
    Unit,
    Weight,
    Word,
    line_of,
)

EVERYTHING = b"""\
[board]
horizontal = [1, "In2.Cu"]
vertical = [-1]

[tangle]
leave_out = ["/SHIELD"]

[[pool]]
part = "U3"
pins = ["IO_A*",
        "40-47"]
keep = ["IO_A13"]
cost_mm = 2

[[unit]]
tuples = [["RN1:1", "RN1:8"], ["RN1:2", "RN1:7"]]
reversible = true
inner = [1, 2]
[[unit]]
tuples = [["U5:1", "U5:2", "U5:3", "U5:4"]]
inner = [[1, 2], [3, 4]]

[[mate]]
a = "main:J4"
b = "probe:J1"
[[mate]]
a = "main:J5"
b = "probe:J2"
map = { 1 = "2", 2 = "1" }

[[offers]]
part = "U3"
pins = ["IO_A2"]
functions = ["UART1_TX"]
[[offers]]
file = "functions.csv"

[[needs]]
nets = ["/SONDE_TX"]
functions = ["UART*_TX"]
shared = true

[[peripheral]]
nets = ["/SONDE_TX", "/SONDE_RX"]
signals = ["TX", "RX"]
instances = ["UART1", "UART3"]

[[order]]
part = "J7"
nets = ["/D0", "/D1"]
direction = "ascending"

[[pair]]
nets = ["/CAN_P", "/CAN_N"]
part = "U3"
sites = [["1", "2"]]
invertible = true

[[apart]]
nets = ["/ADC_*"]
others = ["/CLK"]
distance_mm = 1.5

[[beside]]
nets = ["/CLK"]

[[domain]]
name = "3V3"
pins = ["U3:1-20"]

[[keep]]
nets = ["/RESET*"]
pins = ["J3:*"]

[[weight]]
nets = ["/CLK"]
factor = 4

[[signal]]
nets = ["/SPI_*"]
kind = "fast"
swing_v = 3.3
"""


def test_every_section_becomes_its_record() -> None:
    assert read_rules(EVERYTHING) == Rules(
        horizontal=(1, "In2.Cu"),
        vertical=(-1,),
        leave_out=("/SHIELD",),
        pools=(Pool("U3", ("IO_A*", "40-47"), ("IO_A13",), 2.0, 8),),
        units=(
            Unit((("RN1:1", "RN1:8"), ("RN1:2", "RN1:7")), True, ((1, 2),), line=15),
            Unit((("U5:1", "U5:2", "U5:3", "U5:4"),), False, ((1, 2), (3, 4)), line=19),
        ),
        mates=(
            Mate("main:J4", "probe:J1", line=23),
            Mate("main:J5", "probe:J2", (("1", "2"), ("2", "1")), 26),
        ),
        offers=(
            Offers("U3", ("IO_A2",), ("UART1_TX",), line=31),
            Offers(file="functions.csv", line=35),
        ),
        needs=(Needs(("/SONDE_TX",), ("UART*_TX",), shared=True, line=38),),
        peripherals=(
            Peripheral(("/SONDE_TX", "/SONDE_RX"), ("TX", "RX"), ("UART1", "UART3"), line=43),
        ),
        orders=(Order("J7", ("/D0", "/D1"), "ascending", 48),),
        pairs=(Pair(("/CAN_P", "/CAN_N"), "U3", (("1", "2"),), True, 53),),
        aparts=(Apart(("/ADC_*",), ("/CLK",), distance_mm=1.5, line=59),),
        besides=(Beside(("/CLK",), line=64),),
        domains=(Domain("3V3", ("U3:1-20",), 67),),
        keeps=(Keep(("/RESET*",), ("J3:*",), 71),),
        weights=(Weight(("/CLK",), 4.0, 75),),
        signals=(Signal(("/SPI_*",), "fast", 3.3, line=79),),
        board_line=1,
        tangle_line=5,
    )


def test_every_section_of_the_table_is_in_the_sample() -> None:
    for section in SECTIONS:
        assert f"[{section.name}]".encode() in EVERYTHING


def test_words_know_their_own_line() -> None:
    pool = read_rules(EVERYTHING).pools[0]
    assert [line_of(word, pool.line) for word in pool.pins] == [10, 11]
    assert line_of("made by a program", 7) == 7
    assert line_of(Word("without a line"), 7) == 7


def test_a_section_may_repeat_and_may_have_single_brackets() -> None:
    twice = read_rules(b"[[board]]\nhorizontal=[1]\n[[board]]\nhorizontal=[3]\nvertical=[2]\n")
    assert (twice.horizontal, twice.vertical) == ((1, 3), (2,))
    single = read_rules(b'[keep]\nnets = ["/A"]\n')
    assert single.keeps == (Keep(("/A",), (), 1),)


@pytest.mark.parametrize("data", [b"", b"\r\n# nothing yet\r\n", b"\xef\xbb\xbf"])
def test_an_empty_file_is_no_rules(data: bytes) -> None:
    assert read_rules(data) == Rules()


POOL = '[[pool]]\npart = "U3"\npins = ["1"]\n'
BAD = {
    "[[pols]]\n": ':1:3: unknown section "pols"; did you mean "pool"?',
    "[[Pool]]\n": ':1:3: unknown section "Pool"; did you mean "pool"?',
    "\nxyz = 1\n": (
        ':2:1: unknown section "xyz"; the sections are board, tangle, pool, unit, mate, offers, '
        "needs, peripheral, order, pair, apart, beside, domain, keep, weight, signal"
    ),
    "pool = 5\n": ':1:1: "pool" must be a section; write [[pool]]',
    'keep = ["/A"]\n': ':1:1: "keep" must be a section; write [[keep]]',
    '[[pool]]\npart = "U3"\npin = ["1"]\n': (
        ':3:1: unknown key "pin" in [[pool]]; did you mean "pins"?'
    ),
    POOL + "w = 1\n": (':4:1: unknown key "w" in [[pool]]; the keys are part, pins, keep, cost_mm'),
    POOL + "[pool.keep]\nx=1\n": (
        ':4:1: "keep" of [[pool]] must be a list of pin numbers, ranges or names; '
        'write it like keep = ["IO_A*", "12-27"]'
    ),
    '\n[[pool]]\npins = ["1"]\n': ':2:1: [[pool]] has no "part"; add a line such as part = "U3"',
    '[[pool]]\npart = "U3"\n': (
        ':1:1: [[pool]] has no "pins"; add a line such as pins = ["IO_A*", "12-27"]'
    ),
    '[[pool]]\npart = "U3"\npins = []\n': (
        ':3:1: "pins" of [[pool]] must be a list of one or more pin numbers, ranges or names; '
        'write it like pins = ["IO_A*", "12-27"]'
    ),
    '[[pool]]\npart = "U3"\npins = "1"\n': (
        ':3:1: "pins" of [[pool]] must be a list of one or more pin numbers, ranges or names; '
        'write it like pins = ["IO_A*", "12-27"]'
    ),
    '[[pool]]\npart = "U3"\npins = [1]\n': (
        ':3:1: "pins" of [[pool]] must be a list of one or more pin numbers, ranges or names; '
        'write it like pins = ["IO_A*", "12-27"]'
    ),
    '[[pool]]\npart = ""\npins = ["1"]\n': (
        ':2:1: "part" of [[pool]] must be a name in quotes; write it like part = "U3"'
    ),
    '[[pool]]\npart = 3\npins = ["1"]\n': (
        ':2:1: "part" of [[pool]] must be a name in quotes; write it like part = "U3"'
    ),
    POOL + "cost_mm = -1\n": (
        ':4:1: "cost_mm" of [[pool]] must be a number from 0 to 1e9; write it like cost_mm = 5.0'
    ),
    POOL + "cost_mm = true\n": (
        ':4:1: "cost_mm" of [[pool]] must be a number from 0 to 1e9; write it like cost_mm = 5.0'
    ),
    POOL + 'cost_mm = "5"\n': (
        ':4:1: "cost_mm" of [[pool]] must be a number from 0 to 1e9; write it like cost_mm = 5.0'
    ),
    POOL + "cost_mm = inf\n": (
        ':4:1: "cost_mm" of [[pool]] must be a number from 0 to 1e9; write it like cost_mm = 5.0'
    ),
    '[[weight]]\nnets = ["/A"]\nfactor = -0.5\n': (
        ':3:1: "factor" of [[weight]] must be a number above 0, at most 1e9; '
        "write it like factor = 1.0"
    ),
    '[[weight]]\nnets = ["/A"]\nfactor = 0\n': (
        ':3:1: "factor" of [[weight]] must be a number above 0, at most 1e9; '
        "write it like factor = 1.0"
    ),
    '[[weight]]\nnets = ["/A"]\n': (
        ':1:1: [[weight]] has no "factor"; add a line such as factor = 1.0'
    ),
    "[board]\nhorizontal = [0]\n": (
        ':2:1: "horizontal" of [[board]] must be a list of copper layers, counted from 1 at the '
        "front or -1 at the back, or names; write it like horizontal = [1, -1]"
    ),
    "[board]\nvertical = [1.0]\n": (
        ':2:1: "vertical" of [[board]] must be a list of copper layers, counted from 1 at the '
        "front or -1 at the back, or names; write it like vertical = [1, -1]"
    ),
    "[tangle]\ninclude = [1]\n": (
        ':2:1: "include" of [[tangle]] must be a list of net names; '
        'write it like include = ["/CLK", "/SPI_*"]'
    ),
    "[[unit]]\ntuples = [[]]\n": (
        ':2:1: "tuples" of [[unit]] must be a list of lists of PART:PIN words; '
        'write it like tuples = [["RN1:1", "RN1:8"], ["RN1:2", "RN1:7"]]'
    ),
    '[[unit]]\ntuples = [["U1:1"]]\ninner = [0, 1]\n': (
        ':3:1: "inner" of [[unit]] must be sets of positions, counted from 1; '
        "write it like inner = [[1, 2]]"
    ),
    '[[unit]]\ntuples = [["U1:1"]]\nreversible = 1\n': (
        ':3:1: "reversible" of [[unit]] must be true or false; write it like reversible = true'
    ),
    '[[mate]]\na = "m:J1"\nb = "p:J1"\nmap = "diagonal"\n': (
        ':4:1: "map" of [[mate]] must be "straight", "mirrored", "row-swapped" or a table of '
        'pins; write it like map = {1 = "2"}'
    ),
    '[[offers]]\npart = "U3"\n': (
        ":1:1: [[offers]] is not complete; it has either part and pins and functions, or file"
    ),
    '[[offers]]\nfile = "../u3.csv"\n': (
        ':2:1: "file" of [[offers]] must be a file in the folder of the rules file or below it; '
        'write it like file = "functions.csv"'
    ),
    "[[offers]]\nfile = '\\\\host\\u3.csv'\n": (
        ':2:1: "file" of [[offers]] must be a file in the folder of the rules file or below it; '
        'write it like file = "functions.csv"'
    ),
    "[[keep]]\n": (":1:1: [[keep]] is not complete; it has either nets, or pins, or nets and pins"),
    '[[order]]\npart = "J7"\nnets = ["/D0"]\n': (
        ':3:1: "nets" of [[order]] must be a list of at least two net names; '
        'write it like nets = ["/D0", "/D1"]'
    ),
    '[[order]]\npart = "J7"\nnets = ["/D0", "/D1"]\ndirection = "up"\n': (
        ':4:1: "direction" of [[order]] must be "either" or "ascending" or "descending"; '
        'write it like direction = "either"'
    ),
    '[[pair]]\nnets = ["/P", "/N", "/X"]\n': (
        ':2:1: "nets" of [[pair]] must name two nets, P and N; '
        'write it like nets = ["/CAN_P", "/CAN_N"]'
    ),
    '[[pair]]\nnets = ["/P", "/N"]\nsites = [["1"]]\n': (
        ':3:1: "sites" of [[pair]] must be a list of pairs of pins; '
        'write it like sites = [["A3", "A4"]]'
    ),
    '[[apart]]\nnets = ["/A"]\ndistance_mm = 0\n': (
        ':3:1: "distance_mm" of [[apart]] must be a number above 0, at most 1e9; '
        "write it like distance_mm = 1.0"
    ),
    '[[signal]]\nnets = ["/A"]\nkind = "loud"\n': (
        ':3:1: "kind" of [[signal]] must be "fast" or "quiet"; write it like kind = "fast"'
    ),
}


@pytest.mark.parametrize("text", BAD, ids=range(len(BAD)))
def test_a_bad_file_is_told_where_and_what_to_do(text: str) -> None:
    with pytest.raises(RulesError) as caught:
        read_rules(text.encode())
    assert str(caught.value) == BAD[text]


# The words behind "not TOML:" are the parser's and change with its version; the places do not.
BROKEN = {
    "[[pool]]\n[pool]\n": (2, 6),
    "[[pool]\n": (1, 7),
    '[[pool]]\r\npart = "U3\r\n': (2, 11),
    '[[pool]]\npart = "U3"\npart = "U4"\n': (3, 12),
    '[[pool]]\npart = "µΩ" x\n': (2, 15),
}


@pytest.mark.parametrize("text", BROKEN, ids=range(len(BROKEN)))
def test_what_is_not_toml_is_told_where(text: str) -> None:
    with pytest.raises(RulesError, match=": not TOML: ") as caught:
        read_rules(text.encode())
    assert (caught.value.line, caught.value.column) == BROKEN[text]


def test_the_file_is_named_once_it_is_known() -> None:
    with pytest.raises(RulesError) as caught:
        read_rules(b"[[pols]]\n")
    named = caught.value.in_file("buoy.rules.toml")
    assert str(named).startswith("buoy.rules.toml:1:3: unknown section")


KEYS = sorted({key for section in SECTIONS for key in section.keys} | {"x"})
VALUES = st.recursive(
    st.integers() | st.booleans() | st.floats() | st.text(max_size=3),
    lambda v: st.lists(v, max_size=3),
    max_leaves=6,
)


def _toml(value: object) -> str:
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08x}" for c in value) + '"'
    return str(value).lower() if isinstance(value, bool) else repr(value)


@given(
    st.sampled_from([section.name for section in SECTIONS]),
    st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=4),
)
def test_any_values_give_records_or_one_error(name: str, table: dict[str, object]) -> None:
    text = f"[[{name}]]\n" + "".join(f"{key} = {_toml(v)}\n" for key, v in table.items())
    try:
        rules = read_rules(text.encode(errors="replace"))
    except RulesError as error:
        assert 1 <= error.line <= len(table) + 1
    else:
        assert name in ("board", "tangle") or sum(map(len, rules[4:18])) == 1
