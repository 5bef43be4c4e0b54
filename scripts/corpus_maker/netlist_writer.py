"""A design as a netlist file: version D for the old boards, E for the others."""

from __future__ import annotations

from corpus_maker.design import Kind, Part, unique_id
from corpus_maker.naming import Naming
from corpus_maker.part_writer import LIBRARY
from corpus_maker.sexpr import Layout, Name, Tree, text
from corpus_maker.versions import MAKER, SHEET_SUFFIX

OLD_TYPES = {"bidirectional": "BiDi", "no_connect": "NotConnected"}
"""Names that pin types have in version D, where they differ."""

_FLAT = frozenset((
    "ref", "value", "footprint", "libsource", "sheetpath", "tstamp", "tstamps", "pin", "node",
    "field", "fp", "property", "source", "date", "tool", "library",
))  # fmt: skip
_LEAD = {
    "export": frozenset({"version"}),
    "sheet": frozenset({"number", "name", "tstamps"}),
    "comp": frozenset({"ref"}),
    "libpart": frozenset({"lib", "part"}),
    "net": frozenset({"code", "name"}),
}


def netlist_text(naming: Naming, newline: str = "\n") -> str:
    """The netlist that belongs to a board named this way."""
    quoted = not naming.version.old
    return text(netlist_tree(naming), Layout(False, quoted, _FLAT, _LEAD, False, newline))


def netlist_tree(naming: Naming) -> Tree:
    """The netlist as a tree; parts without a symbol are not in it."""
    parts = [part for part in naming.design.parts if part.kind.pins]
    kinds = {part.kind.name: part.kind for part in parts}
    version = Name("D" if naming.version.old else "E")
    return [
        "export", ["version", version],
        _heading(naming),
        ["components", *(_component(naming, part) for part in parts)],
        ["libparts", *(_library_part(naming, kinds[name]) for name in sorted(kinds))],
        ["libraries", ["library", ["logical", Name(LIBRARY)], ["uri", Name(f"{LIBRARY}.lib")]]],
        ["nets", *_nets(naming)],
    ]  # fmt: skip


def _heading(naming: Naming) -> Tree:
    design = naming.design
    title: Tree = ["title_block", ["title", Name(design.title)], ["rev", Name("C")]]
    root = "/" if naming.version.old else f"/{unique_id(design.name, 'sheet')}/"
    stamps: Tree = ["tstamps", Name(root)]
    return [
        "design",
        ["source", Name(f"{design.name}{SHEET_SUFFIX}")],
        ["date", Name("")],
        ["tool", Name(f"{MAKER} 1")],
        ["sheet", ["number", Name("1")], ["name", Name("/")], stamps, title],
    ]


def _component(naming: Naming, part: Part) -> Tree:
    kind = part.kind
    source: Tree = ["libsource", ["lib", Name(LIBRARY)], ["part", Name(kind.name)]]
    source.append(["description", Name(kind.descr)])
    ident = naming.path(part)[1:]
    return [
        "comp", ["ref", Name(part.ref)],
        ["value", Name(part.value)],
        ["footprint", Name(f"{LIBRARY}:{kind.outline.name}")],
        source,
        ["sheetpath", ["names", Name("/")], ["tstamps", Name("/")]],
        ["tstamp" if naming.version.old else "tstamps", Name(ident)],
    ]  # fmt: skip


def _library_part(naming: Naming, kind: Kind) -> Tree:
    old = naming.version.old
    pins: list[Tree] = [
        [
            "pin",
            ["num", Name(pin.number)],
            ["name", Name(pin.name or "~")],
            ["type", Name(OLD_TYPES.get(pin.type, pin.type) if old else pin.type)],
        ]
        for pin in kind.pins
    ]
    fields: Tree = [
        "fields",
        ["field", ["name", Name("Reference")], Name(kind.prefix)],
        ["field", ["name", Name("Value")], Name(kind.name)],
    ]
    return [
        "libpart", ["lib", Name(LIBRARY)], ["part", Name(kind.name)],
        ["description", Name(kind.descr)],
        fields,
        ["pins", *pins],
    ]  # fmt: skip


def _nets(naming: Naming) -> list[Tree]:
    """All nets by name; a private net of an open pin where the version has them."""
    members: dict[str, list[Tree]] = {}
    for ref, number in naming.pins:
        net = naming.net_name(naming.design.nets.get((ref, number), f"?{ref}.{number}"))
        if net:
            members.setdefault(net, []).append(_node(naming, ref, number))
    return [
        ["net", ["code", Name(str(code))], ["name", Name(net)], *members[net]]
        for code, net in enumerate(sorted(members), 1)
    ]


def _node(naming: Naming, ref: str, number: str) -> Tree:
    node: Tree = ["node", ["ref", Name(ref)], ["pin", Name(number)]]
    if not naming.version.old:
        pin = naming.pins[ref, number]
        if pin.name:
            node.append(["pinfunction", Name(pin.name)])
        node.append(["pintype", Name(naming.pin_type(pin, naming.open(ref, number)))])
    return node
