"""EDIF as careless writers make it: every netlist is used, or refused with its line and column.

Grammar points of ANSI/EIA-548-1988 as public descriptions give them; what writers
make of them is common practice, no source.
"""

from __future__ import annotations

import pytest
import sexpdata
from cases.edif import SMALL

from renet.changes import ChangeList, Move, Swap
from renet.deliver import NetlistFile, deliver_netlist
from renet.errors import InputError
from renet.read.edif import read_edif

NETS = {
    "RN1:1": "D0#", "RN1:2": "D1", "RN1:3": None, "RN1:7": None, "RN1:8": None,
    "U3:D[1:0][0]": "D0#", "U3:D[1:0][1]": "D1", "U3:14": "VCC", "U3:5": None,
}  # fmt: skip
MOVES = (Move("RN1", "1", "", "D0#", "D1"), Move("RN1", "2", "", "D1", "D0#"))
CHANGES = ChangeList((), (Swap(1, MOVES),))


def nets(data: bytes) -> dict[str, str | None]:
    return {f"{node.ref}:{node.pin}": node.net for node in read_edif(data)[0].nodes}


def edited(*edits: tuple[bytes, bytes]) -> bytes:
    data = SMALL
    for old, new in edits:
        assert old in data
        data = data.replace(old, new)
    return data


WORDS = (b"portRef", b"instanceRef", b"joined", b"cellRef", b"libraryRef", b"contents", b"view",
         b"library", b"design", b"rename", b"permutable", b"interface")  # fmt: skip
OTHER = b"""(library spare (cell RPACK4 (view net (viewType NETLIST) (interface (port A))))
    (cell MCU (cellType GENERIC) (view net (viewType NETLIST) (interface (port B)))))
  (library top"""
SYMBOL = b"""(view sym (viewType SCHEMATIC) (interface (port &1) (port &2))
        (contents (figure (path (pointList (pt 0 0) (pt 1 1))))))
      (view net (viewType NETLIST)
        (interface
          (port &1 (direction INOUT)) (port &8"""
USED = {
    "CRLF": SMALL.replace(b"\n", b"\r\n"),
    "tabs": SMALL.replace(b"  ", b"\t"),
    "one line": b" ".join(SMALL.split()),
    "line ends everywhere": edited((b"(portRef", b"(\nportRef\n"), (b"(net ", b"\n(\nnet\n")),
    "keywords in capitals": edited(*((b"(" + w, b"(" + w.upper()) for w in WORDS)),
    "identifiers in capitals": edited((b"(instanceRef RN1)", b"(instanceRef rn1)"),
                                      (b"(cellRef RPACK4", b"(cellRef rpack4")),
    "comments": edited((b"(joined", b'(joined (comment "(portRef &1 (instanceRef RN1))")'),
                       (b"(contents", b'(comment "a" "b") (contents (comment ")")')),
    "escapes in names": edited((b'"D0#"', b'"D0%35%"')),
    "several escapes at once": edited((b'"D0#"', b'"%68 48 35%"')),
    "names shown": edited((b'"D0#")', b'(stringDisplay "D0#" (display FIG)))'),
                          (b'(designator "U3")', b'(designator (stringDisplay "U3"))')),
    "backslashes in strings": edited((b'"4 ports"', b'"C:\\parts\\"'), (b'"MCU 1"', b'"\\mcu "')),
    "properties of any kind": edited((b"(net D1 (joined", b"(net D1 (property (rename p \"a b\") "
                                      b"(integer 4)) (criticality 3) (joined")),
    "property after the joined": edited((b"(portRef edge)))", b"(portRef edge))(property w (number"
                                         b" (e 12 -2))))")),
    "a like-named cell elsewhere": edited((b"(library top", OTHER)),
    "another library before": edited((b"(library parts", OTHER.replace(b"(library top", b"")
                                      + b"(library parts")),
    "external library": edited((b"(library parts", b"(external parts")),
    "cells of the board's own library": edited(
        (b" (libraryRef parts)", b""),
        (b"(library top (edifLevel 0)\n", b""),
        (b"(libraryRef top)", b"(libraryRef parts)"),
        (b'(port IO1 (designator "5"))))))', b'(port IO1 (designator "5")))))'),
    ),
    "a drawing beside": edited((b"(view net (viewType NETLIST)\n        (interface\n          (port"
                                b" &1 (direction INOUT)) (port &8", SYMBOL)),
    "no direction": edited((b" (direction INOUT)", b"")),
    "no edifLevel, no status": edited((b"(edifLevel 0)", b""), (b"(status (written", b"(userData x"
                                                               b" (written")),
    "a portRef said twice": edited((b"(net VCC (joined", b"(net VCC (joined (portRef VDD "
                                    b"(instanceRef inst_1))")),
    "a net in two lists": edited((b"(net VCC", b"(net D1 (joined)) (net VCC")),
    "an empty net": edited((b"(net VCC", b"(net unused (joined)) (net empty) (net VCC")),
    "nets in nets": edited((b"(portRef edge)))", b"(portRef edge))(net inner (joined)))")),
    "a net bundle": edited((b"(net VCC (joined (portRef VDD (instanceRef inst_1))))",
                            b"(netBundle all (listOfNets (net VCC (joined (portRef VDD (instanceRef"
                            b" inst_1))))))")),
    "portRefs of the board": edited((b"(portRef edge)", b"(portRef edge) (portRef other)")),
    "off-page connectors": edited((b"(portRef edge)", b"(portRef far)"),
                                  (b"(contents", b"(contents (offPageConnector far)")),
    "pages": edited((b"(contents", b"(contents (page P1"), (b"inst_1))))))))", b"inst_1)))))))))")),
    "pin numbers at the instance": edited((b'(port VDD (designator "14"))', b"(port VDD)"),
                                          (b'(designator "U3")', b'(designator "U3") (portInstance'
                                           b' VDD (designator "14"))')),
    "design before its library": edited((b"(design demo (cellRef board (libraryRef top)))", b""),
                                        (b"  (library parts", b"  (design demo (cellRef board "
                                         b"(libraryRef top)))\n  (library parts")),
    "an instance of nothing in a cell unused": edited((b"(library top", b"(library junk (cell j "
        b"(view v (viewType NETLIST) (interface) (contents (instance RN1 (viewRef x (cellRef nil)))"
        b" (net a (joined (portRef &1 (instanceRef RN1)))))))) (library top")),
    "characters beyond ASCII": edited((b"4 ports", "4 порта µ".encode())),
}  # fmt: skip


@pytest.mark.parametrize("name", USED)
def test_what_can_be_used_is_used_and_written(name: str) -> None:
    data = USED[name]
    wanted = dict(NETS)
    if name == "pin numbers at the instance":
        assert nets(data).keys() == wanted.keys()
    assert nets(data) == wanted
    file = NetlistFile(data, *read_edif(data))
    assert deliver_netlist(file, ChangeList((), ()))[0] == data
    after = deliver_netlist(file, CHANGES)[0]
    assert nets(after) == wanted | {f"{m.part}:{m.pin}": m.is_ for m in MOVES}
    assert sexpdata.loads(after.decode("utf-8").replace("\\", "/"))


RN1 = b"(instance RN1 (viewRef net (cellRef RPACK4 (libraryRef parts))))"
REFUSED = [
    (SMALL, b"", "the file is empty"),
    (SMALL, SMALL[:-3], "the file ends inside the list (design"),
    (b"(contents", b"(contents)", "text after the end of the outermost list"),
    (b'"D0#"', b'"D0#', "the string that begins here is not closed"),
    (b"(net VCC", b"(net", "a name is missing"),
    (b'(rename D0_N "D0#")', b"(rename)", "a name is missing"),
    (b"(net VCC (joined", b"(net d1 (joined) (property a)) (net VCC (joined", "nets D1 and d1"),
    (RN1, RN1 + RN1, "instance RN1 stands twice"),
    (RN1, RN1 + RN1.replace(b"RN1", b"rn1"), "instance rn1 stands twice"),
    (b"(CELL MCU", b"(cell RPACK4", "cell rpack4 stands twice in library parts"),
    (b"(port &3)", b"(port &2)", "port 2 stands twice in its cell"),
    (
        b"(net VCC (joined",
        b"(net VCC (joined (portRef &1 (instanceRef RN1))",
        "pin 1 of RN1 stands in two nets, D0# and VCC",
    ),
    (b"(member D 0)", b"(member D 7)", "there is no port D[7] of U3"),
    (b"(member D 0)", b"(member D x)", "an array or a member without one number"),
    (b"(member D 0)", b"D", "port D of U3 has 2 members, its net 1"),
    (b"(portRef VDD", b"(portRef VSS", "there is no port VSS of U3"),
    (b"(portRef VDD (instanceRef inst_1", b"(portRef VDD (instanceRef inst_2", "there is no inst"),
    (b"(cellRef MCU", b"(cellRef MCU2", "instance MCU 1 is of a cell that is not there"),
    (b"(cellRef MCU (libraryRef parts))", b"(cellRef MCU)", "instance MCU 1 is of a cell"),
    (b"(viewRef net (cellRef MCU (libraryRef parts)))", b"(viewRef net)", "it names no cell"),
    (b"(design demo", b"(designs demo", "there is no (design ...)"),
    (b"(cellRef board", b"(cellRef main", "the design names a cell that is not there"),
    (b"(libraryRef top)", b"(libraryRef tops)", "the design names a cell that is not there"),
    (b"(cellRef board", b"(cellRef MCU", "the design names a cell that is not there"),
    (b"(array (rename D", b"(array (array (rename E", "the file ends inside the list (edif"),
    (b'"D[1:0]") 2)', b'"D[1:0]") 99999)', "an array or a member without one number"),
    (SMALL, b"\xef\xbb\xbf" + SMALL, "the file begins with a byte order mark"),
    (SMALL, SMALL.decode().encode("utf-16"), "the file is UTF-16 text"),
    (b"demo\n", b"de\0mo\n", "the file is not text"),
    (SMALL, SMALL + SMALL, "text after the end of the outermost list"),
    (b"(edif demo", b"(edf demo", "expected a board or a netlist"),
]


@pytest.mark.parametrize(
    ("old", "new", "said"), REFUSED, ids=[f"{n} {r[2]}" for n, r in enumerate(REFUSED)]
)
def test_what_cannot_be_used_is_refused_with_its_place(old: bytes, new: bytes, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read_edif(edited((old, new)))
    fault = caught.value
    assert fault.what.startswith(said), fault
    assert fault.line >= 1 and fault.column >= 1
    assert fault.do and "\n" not in str(fault)
