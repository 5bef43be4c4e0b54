"""EDIF 2 0 0 netlists: a small one written by hand, and one made of what another netlist says.

RN1  an array of two resistors: 1-8 and 2-7 may trade places, 3 is open
U3   called so by its designator; a bus port D of two members, keywords in capitals
"""

from __future__ import annotations

import re

from renet.model import Netlist

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
