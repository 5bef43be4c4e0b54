"""A design as a flat EDIF 2 0 0 netlist: a library of kinds, and the board's cell."""

from __future__ import annotations

import re

from corpus_maker.design import Kind
from corpus_maker.naming import Naming

_STRANGE = re.compile(r"[^ -~]|[\"%]")


def edif_text(naming: Naming) -> str:
    """The whole netlist; ports are called by pin number, and renamed to what the pin is called."""
    design = naming.design
    parts = [part for part in design.parts if part.kind.pins]
    kinds = {part.kind.name: part.kind for part in parts}
    lines = [
        f"(edif {design.name}",
        "  (edifVersion 2 0 0)",
        "  (edifLevel 0)",
        "  (keywordMap (keywordLevel 0))",
        f"  (status (written (timeStamp 2026 1 1 0 0 0) (comment {_string(design.title)})))",
        "  (library parts (edifLevel 0) (technology (numberDefinition))",
        *(line for name in sorted(kinds) for line in _cell(kinds[name])),
        "  )",
        "  (library boards (edifLevel 0) (technology (numberDefinition))",
        f"    (cell {design.name} (cellType GENERIC)",
        "      (view netlist (viewType NETLIST)",
        "        (interface)",
        "        (contents",
    ]
    for part in parts:
        lines.append(
            f"          (instance {part.ref} (viewRef symbol (cellRef {_id(part.kind.name)} "
            f"(libraryRef parts))) (property value (string {_string(part.value)})))"
        )
    for number, net in enumerate(sorted(design.net_names(), key=naming.net_name), start=1):
        lines.append(f"          (net (rename N{number} {_string(naming.net_name(net))}) (joined")
        pins = [pin for pin in naming.pins if design.nets.get(pin) == net]
        lines += [f"            (portRef &{pin} (instanceRef {ref}))" for ref, pin in pins]
        lines[-1] += "))"
    lines += ["        ))))", f"  (design {design.name} (cellRef {design.name}"]
    return "\n".join([*lines, "    (libraryRef boards))))", ""])


def _cell(kind: Kind) -> list[str]:
    """A kind of part; the elements of a resistor array may trade places, end for end alike."""
    lines = [
        f"    (cell {_id(kind.name)} (cellType GENERIC)",
        "      (view symbol (viewType NETLIST)",
        "        (interface",
    ]
    for pin in kind.pins:
        name = f"(rename &{pin.number} {_string(pin.name)})" if pin.name else f"&{pin.number}"
        number = f' (designator "{pin.number}")' if pin.name else ""
        lines.append(f"          (port {name}{number})")
    if kind.prefix == "RN":
        numbers = sorted((pin.number for pin in kind.pins), key=int)
        pairs = zip(numbers[: len(numbers) // 2], numbers[::-1], strict=False)
        rows = [f"(nonPermutable (portRef &{a}) (portRef &{b}))" for a, b in pairs]
        lines.append(f"          (permutable {' '.join(rows)})")
    return [*lines, "        )))"]


def _id(name: str) -> str:
    plain = re.sub("[^A-Za-z0-9_]", "_", name)
    return plain if plain[:1].isalpha() else "&" + plain


def _string(text: str) -> str:
    """A string; what it cannot hold stands as the number of the character."""
    return '"' + _STRANGE.sub(lambda found: f"%{ord(found[0])}%", text) + '"'
