"""EDIF 2 0 0 netlists: a small one written by hand, and one made of what another netlist says.

RN1  an array of two resistors: 1-8 and 2-7 may trade places, 3 is open
U3   called so by its designator; a bus port D of two members, keywords in capitals
"""

from __future__ import annotations

import re

from renet.model import Netlist
from renet.read.edif import read_edif

SMALL = b"""(edif demo
  (edifVersion 2 0 0)
  (edifLevel 0)
  (keywordMap (keywordLevel 0))
  (status (written (timeStamp 2026 1 1 0 0 0) (comment "net (joined) in a (string)")))
  (library parts (edifLevel 0)
    (technology (numberDefinition))
    (cell RPACK4 (cellType GENERIC)
      (view net (viewType NETLIST)
        (interface
          (port &1 (direction INOUT)) (port &8 (direction INOUT))
          (port &2 (direction INOUT)) (port &7 (direction INOUT)) (port &3)
          (permutable (portRef &1) (portRef &2) (nonPermutable (portRef &7) (portRef &8))))))
    (CELL MCU (cellType GENERIC)
      (view net (viewType NETLIST)
        (INTERFACE
          (PORT (array (rename D "D[1:0]") 2))
          (port VDD (designator "14"))
          (port IO1 (designator "5"))))))
  (library top (edifLevel 0)
    (technology (numberDefinition))
    (cell board (cellType GENERIC)
      (view net (viewType NETLIST)
        (interface)
        (contents
          (instance RN1 (viewRef net (cellRef RPACK4 (libraryRef parts))))
          (instance (rename inst_1 "MCU 1") (viewRef net (cellRef MCU (libraryRef parts)))
            (designator "U3") (property value (string "4 ports")))
          (net (rename D0_N "D0#")
            (joined (portRef &1 (instanceRef RN1))
              (portRef (member D 0) (instanceRef INST_1))))
          (net D1 (joined
            (PortRef &2 (InstanceRef RN1))
            (portRef (member d 1) (instanceRef inst_1)) (portRef edge)))
          (net VCC (joined (portRef VDD (instanceRef inst_1))))))))
  (design demo (cellRef board (libraryRef top))))
"""


def edif_of(netlist: Netlist) -> bytes:
    """The same parts, pins and nets as EDIF, one cell for each part."""
    pins: dict[str, dict[str, str]] = {}
    nets: dict[str, list[str]] = {}
    for node in netlist.nodes:
        pins.setdefault(node.ref, {})[node.pin] = node.name
        if node.net is not None:
            ref = f"(portRef {_id(node.pin)} (instanceRef {_id(node.ref)}))"
            nets.setdefault(node.net, []).append(ref)
    cells = "\n".join(
        f"(cell {_id('C' + ref)} (cellType GENERIC) (view v (viewType NETLIST) (interface "
        + " ".join(f"(port {_name(pin)})" for pin in ports)
        + ")))"
        for ref, ports in pins.items()
    )
    parts = "\n".join(
        f"(instance {_name(ref)} (viewRef v (cellRef {_id('C' + ref)} (libraryRef parts))))"
        for ref in pins
    )
    joined = "\n".join(
        f"(net {_name(name)} (joined\n" + "\n".join(refs) + "))" for name, refs in nets.items()
    )
    text = (
        f"(edif made (edifVersion 2 0 0)\n(library parts {cells})\n(library top (cell board"
        f" (cellType GENERIC) (view v (viewType NETLIST) (interface) (contents {parts}\n{joined}"
        "))))\n(design made (cellRef board (libraryRef top))))\n"
    )
    return text.encode("utf-8")


def _id(name: str) -> str:
    plain = re.sub(r"[^A-Za-z0-9_]", lambda m: f"_{ord(m[0]):x}_", name)
    return plain if plain[:1].isalpha() else "&" + plain


def _name(name: str) -> str:
    return _id(name) if _id(name).removeprefix("&") == name else f'(rename {_id(name)} "{name}")'


# Two gates of one part, J1 beside it; every connection of one gate crosses those of the other.
_GATES = {
    "I1": ("J1", "P4"), "I2": ("J1", "P5"), "O3": ("J1", "P6"),
    "I4": ("J1", "P1"), "I5": ("J1", "P2"), "O6": ("J1", "P3"),
}  # fmt: skip


def gates() -> bytes:
    """U1: two like gates (1, 2 -> 3 and 4, 5 -> 6), whose inputs trade, and a supply that does not.

    Port I1 has the designator 1, and so on.
    """
    ports = " ".join(f'(port {p} (designator "{p[1:]}"))' for p in [*_GATES, "V14"])
    one, two = (
        f"(nonPermutable (permutable (portRef {a}) (portRef {b})) (portRef {c}))"
        for a, b, c in (("I1", "I2", "O3"), ("I4", "I5", "O6"))
    )
    rows = [
        f"(net N{port} (joined (portRef {port} (instanceRef U1))\n"
        f"  (portRef {pin} (instanceRef {ref}))))"
        for port, (ref, pin) in {**_GATES, "V14": ("J1", "P7")}.items()
    ]
    header = " ".join(f'(port P{n} (designator "{n}"))' for n in range(1, 8))
    text = (
        "(edif gates (edifVersion 2 0 0)\n(library p\n (cell G (cellType GENERIC) (view v (viewType"
        f" NETLIST) (interface {ports}\n  (permutable {one} {two}) (nonPermutable (portRef V14)))))"
        f"\n (cell H (cellType GENERIC) (view v (viewType NETLIST) (interface {header}))))\n"
        "(library t (cell b (cellType GENERIC) (view v (viewType NETLIST) (interface) (contents\n"
        "(instance U1 (viewRef v (cellRef G (libraryRef p))))\n"
        "(instance J1 (viewRef v (cellRef H (libraryRef p))))\n" + "\n".join(rows) + "))))\n"
        "(design gates (cellRef b (libraryRef t))))\n"
    )
    return text.encode()


def header(netlist: bytes) -> bytes:
    """A list of records for ``gates``: U1 in a column, J1 in a column beside it."""
    rows = ["P  UNITS CUST 1"]
    for node in read_edif(netlist)[0].nodes:
        x = 10_000 if node.ref == "U1" else 30_000
        y = -2_540 * int(node.pin.replace("14", "7"))
        rows.append(
            f"327{node.net or 'N/C':<14}   {node.ref:<6}-{node.pin:<4}      A01X{x:+07d}Y{y:+07d}"
        )
    return "\n".join([*rows, "999", ""]).encode()


BLOCKS = b"""(edif blocks (edifVersion 2 0 0)
(library p
  (cell R (view v (viewType NETLIST) (interface (port &1) (port &2)
    (permutable (portRef &1) (portRef &2)))))
  (cell M (view v (viewType NETLIST) (interface (port (array D 2)) (port E)))))
(library t
  (cell filter (view v (viewType NETLIST) (interface (port IN) (port OUT))
    (contents (instance r1 (viewRef v (cellRef R (libraryRef p))) (designator "R1"))
      (net a (joined (portRef IN) (portRef &1 (instanceRef r1))))
      (net b (joined (portRef OUT) (portRef &2 (instanceRef r1)))))))
  (cell top (view v (viewType NETLIST) (interface)
    (contents (instance F (viewRef v (cellRef filter))) (instance G (viewRef v (cellRef filter)))
      (instance U1 (viewRef v (cellRef M (libraryRef p))))
      (instance (array U2 2) (viewRef v (cellRef M (libraryRef p))))
      (net (array Q 2)
        (joined (portRef D (instanceRef U1)) (portRef D (instanceRef (member U2 0)))))
      (net (member Q 1) (joined (portRef E (instanceRef (member U2 1)))))
      (net X (joined (portRef IN (instanceRef F)) (portRef IN (instanceRef G))))
      (net Y (joined (portRef OUT (instanceRef F)) (portRef E (instanceRef U1))))))))
(design x (cellRef top (libraryRef t))))
"""
"""Two blocks of one kind, a bus of two, an array of parts."""
