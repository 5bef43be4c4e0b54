"""Parts as they stand in a board file."""

from __future__ import annotations

from itertools import pairwise

from corpus_maker.design import PadDef, Part, mm
from corpus_maker.naming import Naming, num
from corpus_maker.sexpr import Name, Tree
from corpus_maker.versions import SHEET_SUFFIX

LIBRARY = "buoy"


def part_tree(naming: Naming, part: Part, index: int) -> Tree:
    """A placed part; ``index`` tells parts of one reference apart."""
    version, outline = naming.version, part.kind.outline
    key = ("part", part.ref, index)
    tree: Tree = [version.part_word, Name(f"{LIBRARY}:{outline.name}")]
    tree.append(["layer", naming.layer(-1 if part.back else 0)])
    if version.properties:
        tree += naming.ident(*key)
    else:
        tree += [["tedit", naming.bare_id("outline", outline.name)[:8].upper()]]
        tree += naming.ident(*key)
    at = naming.xy("at", part.x, part.y)
    tree.append([*at, str(part.angle)] if part.angle else at)
    tree += [["descr", Name(outline.descr)], ["tags", Name(outline.tags)]]
    tree += _texts(naming, part, key)
    if part.kind.pins:
        tree.append(["path", Name(naming.path(part))])
    if naming.version.number >= 20241229:
        tree += [
            ["sheetname", Name("/")],
            ["sheetfile", Name(f"{naming.design.name}{SHEET_SUFFIX}")],
        ]
    if not version.table:
        tree.append(_units(part))
    tree.append(["attr", _attribute(part, version.old)])
    if not version.table:
        tree.append(["duplicate_pad_numbers_are_jumpers", "no"])
    tree += _graphics(naming, part, key)
    tree += [_pad(naming, part, pad, (*key, i)) for i, pad in enumerate(outline.pads)]
    if version.properties:
        tree.append(["embedded_fonts", "no"])
    return tree


def _attribute(part: Part, old: bool) -> str:
    if part.kind.outline.pads[0].kind == "smd":
        return "smd"
    return "virtual" if old else "through_hole"


def _units(part: Part) -> Tree:
    """The sections of the symbol, with their pins."""
    sections = part.kind.sections or (tuple(p.number for p in part.kind.pins),)
    units: list[Tree] = [
        ["unit", ["name", Name(chr(65 + i))], ["pins", *map(Name, numbers)]]
        for i, numbers in enumerate(sections)
    ]
    return ["units", *units]


def _side(part: Part, layer: str) -> Name:
    return Name(("B." if part.back else "F.") + layer)


def _effects(part: Part) -> Tree:
    effects: Tree = [
        "effects",
        ["font", ["size", num(mm(1)), num(mm(1))], ["thickness", num(mm(0.15))]],
    ]
    return [*effects, ["justify", "mirror"]] if part.back else effects


def _texts(naming: Naming, part: Part, key: tuple[object, ...]) -> list[Tree]:
    """Reference and value, as properties or as texts."""
    away = part.kind.outline.half[1] + mm(1.2)
    rows = (
        ("Reference", part.ref, -away, "SilkS"),
        ("Value", part.value, away, "Fab"),
    )
    if naming.version.properties:
        more = (("Datasheet", "", 0, "Fab"), ("Description", part.kind.descr, 0, "Fab"))
        return [_property(naming, part, key, row) for row in (*rows, *more)]
    texts = [] if naming.version.old else [_sheet_property(naming)]
    return texts + [_text(naming, part, key, row) for row in rows]


Row = tuple[str, str, int, str]


def _property(naming: Naming, part: Part, key: tuple[object, ...], row: Row) -> Tree:
    word, value, y, layer = row
    hide: list[Tree] = [["hide", "yes"]] if word in ("Datasheet", "Description") else []
    return [
        "property", Name(word), Name(value),
        ["at", "0", num(y), str(part.angle)],
        ["layer", _side(part, layer)],
        *hide,
        *naming.ident(*key, word),
        _effects(part),
    ]  # fmt: skip


def _sheet_property(naming: Naming) -> Tree:
    return ["property", Name("Sheetfile"), Name(f"{naming.design.name}{SHEET_SUFFIX}")]


def _text(naming: Naming, part: Part, key: tuple[object, ...], row: Row) -> Tree:
    word, value, y, layer = row
    at: Tree = ["at", "0", num(y)]
    if part.angle:
        at.append(str(part.angle))
    ids = [] if naming.version.old else naming.ident(*key, word)
    head: Tree = ["fp_text", word.lower(), Name(value), at, ["layer", _side(part, layer)]]
    return [*head, _effects(part), *ids]


def _graphics(naming: Naming, part: Part, key: tuple[object, ...]) -> list[Tree]:
    """The body on the silk screen, and the room the part takes."""
    x, y = part.kind.outline.half
    pads = part.kind.outline.pads
    far_x = max(x, *(abs(p.x) + p.w // 2 for p in pads)) + mm(0.25)
    far_y = max(y, *(abs(p.y) + p.h // 2 for p in pads)) + mm(0.25)
    drawn = [("SilkS", x, y, mm(0.12)), ("CrtYd", far_x, far_y, mm(0.05))]
    return [line for row in drawn for line in _rectangle(naming, part, key, row)]


def _rectangle(
    naming: Naming, part: Part, key: tuple[object, ...], row: tuple[str, int, int, int]
) -> list[Tree]:
    layer, x, y, width = row
    place: Tree = ["layer", _side(part, layer)]
    if naming.version.properties:
        stroke: Tree = ["stroke", ["width", num(width)], ["type", "solid"]]
        ends: Tree = ["fp_rect", ["start", num(-x), num(-y)], ["end", num(x), num(y)]]
        return [[*ends, stroke, ["fill", "no"], place, *naming.ident(*key, layer)]]
    corners = ((-x, -y), (x, -y), (x, y), (-x, y), (-x, -y))
    lines: list[Tree] = []
    for i, (a, b) in enumerate(pairwise(corners)):
        line: Tree = ["fp_line", ["start", *map(num, a)], ["end", *map(num, b)]]
        ids = [] if naming.version.old else naming.ident(*key, layer, i)
        lines.append([*line, place, ["width", num(width)], *ids])
    return lines


def _pad(naming: Naming, part: Part, pad: PadDef, key: tuple[object, ...]) -> Tree:
    version = naming.version
    shape = "rect" if version.old and pad.shape == "roundrect" else pad.shape
    at: Tree = ["at", *map(num, part.local(pad))]
    if part.angle:
        at.append(str(part.angle))
    tree: Tree = ["pad", Name(pad.number), pad.kind, shape, at, ["size", num(pad.w), num(pad.h)]]
    if pad.slot:
        tree.append(["drill", "oval", num(pad.drill), num(pad.slot)])
    elif pad.drill:
        tree.append(["drill", num(pad.drill)])
    tree.append(["layers", *_pad_layers(naming, part, pad)])
    if shape == "roundrect":
        tree.append(["roundrect_rratio", "0.25"])
    tree += naming.pad_net(part, pad)
    return tree if version.old else tree + naming.ident(*key)


def _pad_layers(naming: Naming, part: Part, pad: PadDef) -> list[Name]:
    if pad.kind not in ("smd", "connect"):
        return [Name("*.Cu"), Name("*.Mask")]
    part = part._replace(back=part.back != pad.back)
    copper = naming.layer(-1 if part.back else 0)
    paste = [_side(part, "Paste")] if pad.number and pad.kind == "smd" else []
    return [copper, *paste, _side(part, "Mask")]
