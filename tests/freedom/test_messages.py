"""Rules that cannot be meant on this board: the exact line that the engineer reads."""

from __future__ import annotations

import pytest

from freedom.buoy import freedom_of
from renet.errors import RulesError


def pool(part: str, *pins: str) -> str:
    words = ", ".join(f'"{pin}"' for pin in pins)
    return f'[[pool]]\npart = "{part}"\npins = [{words}]\n'


def unit(*rows: str, extra: str = "") -> str:
    words = ", ".join("[" + ", ".join(f'"{w}"' for w in row.split()) + "]" for row in rows)
    return f"[[unit]]\ntuples = [{words}]\n{extra}"


MESSAGES = {
    pool("U33", "1"): ':2: part "U33" is not on the board; did you mean "U3"?',
    pool("X", "1"): ':2: part "X" is not on the board; write a reference that the board has',
    pool("U3", "IO_A1", "IO_C*"): ':3: U3 has no pin "IO_C*"; did you mean "IO_A1"?',
    '[[pool]]\npart = "U3"\npins = [\n "2",\n "IOA1",\n]\n': (
        ':5: U3 has no pin "IOA1"; did you mean "IO_A1"?'
    ),
    pool("U3", "io_a1"): ':3: U3 has no pin "io_a1"; did you mean "IO_A1"?',
    pool("U3", "20-30"): (
        ":3: U3 has no pin with a number from 20 to 30; its pins go from 1 to 12"
    ),
    pool("U3", "4-2"): ':3: U3 has no pin with a number from 4 to 2; write "2-4"',
    pool("J7", "IO_A1"): ':3: J7 has no pin "IO_A1"; its pins have no names, only numbers',
    pool("U3", "1"): (
        ":3: U3:1 (VDD) is a supply pin by its type, power_in; take it out of [[pool]] line 1"
    ),
    pool("U3", "1-12", "10"): (
        ":3: U3:10 (NC) is a not-connected pin by its type, no_connect; "
        "take it out of [[pool]] line 1"
    ),
    pool("U3", "IO_A*") + pool("U3", "2"): (
        ":6: U3:2 is in [[pool]] line 1 and in [[pool]] line 4; "
        "a pin can be in one pool or unit only: take it out of one of them"
    ),
    pool("RN1", "1-8") + unit("RN1:1 RN1:8", "RN1:2 RN1:7"): (
        ":5: RN1:1 is in [[pool]] line 1 and in [[unit]] line 4; "
        "a pin can be in one pool or unit only: take it out of one of them"
    ),
    unit("RN1:1 RN1:8", "RN1:2 RN1:7") + unit("RN1:1 RN1:7"): (
        ":4: RN1:1 is in [[unit]] line 1 and in [[unit]] line 3; "
        "a pin can be in one pool or unit only: take it out of one of them"
    ),
    unit("RN1:1 RN1:8", "RN1:2 RN1:8"): ":2: RN1:8 is in [[unit]] line 1 twice; name it once",
    unit("RN1:1 RN1:8", "RN1:2"): (
        ":2: the tuples of [[unit]] line 1 are of different lengths; "
        "give every tuple the same number of pins"
    ),
    unit("RN1:1 RN1:8", "RN1:R* RN1:7"): (
        ':2: "RN1:R*" finds 8 pins (RN1:1, RN1:2, RN1:3 ...); name one pin, best by its number'
    ),
    unit("RN1:1 RN1:8", "RN1 RN1:7"): (':2: "RN1" names no pin; write PART:PIN, such as "U3:12"'),
    unit("RN1:1 RN1:8", "RN9:1 RN9:8"): (
        ":1: [[unit]] line 1 trades between unlike parts: RN1 is 10k in ?, RN9 is 4k7 in ?; "
        "make one unit for each kind of part"
    ),
    unit("RN1:1 RN1:8", extra="inner = [[1, 3]]\n"): (
        ":1: inner of [[unit]] line 1 names a position that its tuples do not have; "
        "positions count from 1 to 2"
    ),
    unit("RN1:1 RN1:2 RN1:3", extra="inner = [[1, 2], [2, 3]]\n"): (
        ":1: inner of [[unit]] line 1 names a position twice; put it into one set only"
    ),
    unit("RN1:1 RN1:2 RN1:3 RN1:4", extra="inner = [[1, 2]]\nreversible = true\n"): (
        ":1: inner of [[unit]] line 1, which is reversible, is not the same when turned; "
        "add the set [3, 4]"
    ),
    '[[keep]]\nnets = ["/RESETT"]\n': (
        ':2: no net of the board is called "/RESETT"; did you mean "/RESET"?'
    ),
    '[[keep]]\nnets = ["/OLD"]\n': (
        ':2: net "/OLD" has no pin on the board; take it out of the rules'
    ),
    '[[keep]]\npins = ["J7"]\n': ':2: "J7" names no pin; write PART:PIN, such as "U3:12"',
    '[[keep]]\npins = ["J77:*"]\n': ':2: part "J77" is not on the board; did you mean "J7"?',
    '[[mate]]\na = "J7"\nb = "probe:J1"\n': (
        ':2: "J7" names no connector of a board; write BOARD:PART, such as "main:J4"'
    ),
    '[[weight]]\nnets = ["/CAN_P"]\nfactor = 2\n[[weight]]\nnets = ["/CAN_P"]\nfactor = 3\n': (
        ':4: net "/CAN_P" has factor 2 (line 1) and factor 3 (line 4); '
        "name the net in full where its own factor stands"
    ),
    '[tangle]\ninclude = ["/CAN_*"]\nleave_out = ["/CAN*"]\n': (
        ':1: [tangle] both includes and leaves out net "/CAN_P"; '
        "name the net in full in one of the two"
    ),
    '[[signal]]\nnets = ["/CAN_P"]\nkind = "fast"\n[[signal]]\nnets = ["/CAN_P"]\n'
    'kind = "quiet"\n': (
        ':4: net "/CAN_P" is fast (line 1) and quiet (line 4); '
        "name the net in full where its own kind stands"
    ),
    "[board]\nhorizontal = [4]\n": (
        ":1: the board has no copper layer 4; it has 3: 1 is the front, 3 or -1 the back"
    ),
    '[board]\nhorizontal = ["F.CU"]\n': (
        ':2: the board has no copper layer "F.CU"; did you mean "F.Cu"?'
    ),
    "[board]\nhorizontal = [1]\nvertical = [-3]\n": (
        ':1: layer "F.Cu" is both horizontal and vertical; give it one direction'
    ),
    '[[domain]]\nname = "A"\npins = ["U3:2-4"]\n[[domain]]\nname = "B"\npins = ["U3:IO_A3"]\n': (
        ':4: U3:4 is in domain "A" (line 1) and in domain "B" (line 4); a pin has one domain only'
    ),
    '[[order]]\npart = "J7"\nnets = ["/SONDE_TX", "/CAN_P"]\n': (
        ':3: net "/CAN_P" has no pin on J7, but [[order]] line 1 needs one; '
        "take it out of the order or correct the part"
    ),
    '[[order]]\npart = "RN1"\nnets = ["/SONDE_TX", "/LED_A"]\n': (
        ':3: net "/LED_A" has 2 pins on RN1, but [[order]] line 1 needs one; '
        "take it out of the order or correct the part"
    ),
    '[[order]]\npart = "J7"\nnets = ["/LED_A", "/LED_A"]\n': (
        ':3: [[order]] line 1 names net "/LED_A" twice; name it once'
    ),
    '[[pair]]\nnets = ["/CAN_P", "/CAN_P"]\n': (
        ':2: [[pair]] line 1 names net "/CAN_P" twice; name P and N of the pair'
    ),
    '[[pair]]\nnets = ["/CAN_P", "/CAN_N"]\npart = "J7"\n': (
        ':1: net "/CAN_P" has no pin on J7; correct the part or the nets of [[pair]] line 1'
    ),
    '[[pair]]\nnets = ["/CAN_P", "/CAN_N"]\npart = "U3"\nsites = [["8", "IO_B2"]]\n': (
        ":4: the pair site 8, IO_B2 of U3 is not two pins; name two pins by number, P first"
    ),
    '[[pair]]\nnets = ["/CAN_P", "/CAN_N"]\nsites = [["8", "9"]]\n': (
        ':1: [[pair]] line 1 has sites but no part; add a line such as part = "U3"'
    ),
    '[[pair]]\nnets = ["/CAN_P", "/CAN_N"]\npart = "U3"\n'
    '[[apart]]\nnets = ["/CAN_*"]\npart = "U3"\n': (
        ":4: [[pair]] line 1 and [[apart]] line 4 contradict each other on U3: every place for "
        "the pair is too near; take the pair's nets out of one of them"
    ),
    '[[order]]\npart = "J7"\nnets = ["/SONDE_TX", "/SONDE_RX", "/LED_A"]\n'
    '[[order]]\npart = "J7"\nnets = ["/SONDE_RX", "/SONDE_TX", "/LED_A"]\n': (
        ":4: [[order]] line 1 and [[order]] line 4 ask for different orders of "
        "/SONDE_TX, /SONDE_RX, /LED_A; take the nets out of one of them"
    ),
    '[[needs]]\nnets = ["/SONDE_TX"]\nfunctions = ["UART*_TX"]\n': (
        ':1: [[needs]] line 1: no pin of the board offers "UART*_TX"; '
        "say in [[offers]] which pins do"
    ),
    '[[needs]]\nnets = ["/SONDE_TX"]\nfunctions = ["IO_AA1"]\npart = "U3"\n': (
        ':1: [[needs]] line 1: no pin of U3 offers "IO_AA1"; did you mean "IO_A1"?'
    ),
    '[[peripheral]]\nnets = ["/SONDE_TX"]\nsignals = ["TX", "RX"]\ninstances = ["UART1"]\n': (
        ":1: [[peripheral]] line 1 has 1 nets but 2 signals; "
        "give one signal for each net, in the same order"
    ),
    '[[peripheral]]\nnets = ["/SONDE_TX"]\nsignals = ["TX"]\ninstances = ["UART1"]\n': (
        ':1: [[peripheral]] line 1: no pin of the board offers "UART1_TX"; '
        "say in [[offers]] which pins do"
    ),
    '[[offers]]\npart = "U3"\npins = ["2"]\nfunctions = ["UART1_TX", "UART2_TX"]\n'
    '[[peripheral]]\nnets = ["/SONDE_TX"]\nsignals = ["TX"]\ninstances = ["UART1"]\npart = "U3"\n'
    '[[peripheral]]\nnets = ["/SONDE_TX"]\nsignals = ["TX"]\ninstances = ["UART2"]\n'
    + pool("U3", "2", "3"): (
        ':10: net "/SONDE_TX" is in [[peripheral]] line 5 and in [[peripheral]] line 10, '
        "both on U3; put it into one of them"
    ),
    '[[offers]]\nfile = "u3.csv"\n[[needs]]\nnets = ["/LED_A"]\nfunctions = ["PWM"]\n': (
        ':1: the functions of "u3.csv" were not read in; read the file before resolving the rules'
    ),
}


@pytest.mark.parametrize("text", MESSAGES, ids=range(len(MESSAGES)))
def test_what_cannot_be_meant_is_told_in_one_line(text: str) -> None:
    with pytest.raises(RulesError) as caught:
        freedom_of(text)
    assert str(caught.value) == MESSAGES[text]
