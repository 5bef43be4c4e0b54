"""The plan as graphic lines on a user layer of a copy of the board: to be seen, never copper."""

from __future__ import annotations

from renet.channels.job import Outlook
from renet.errors import GateError, InputError
from renet.geometry import NM_PER_MM
from renet.read.board import read_board
from renet.read.ipc356 import RecordSpans
from renet.splice import Edit, splice
from renet.syntax import Tree

LAYERS = ("Dwgs.User", "Cmts.User", "Eco1.User", "Eco2.User")
STROKES_FROM = 20211226
"""The first version whose graphics carry a stroke; the ones before have a bare width."""


def sketched(one: Outlook) -> bytes:
    """The board file with the plan drawn in; its meaning for copper is checked to be unchanged."""
    file, spans = one.scene.file, one.scene.file.spans
    if isinstance(spans, RecordSpans):
        what = "a list of IPC-D-356A records has no layer for drawings"
        raise InputError(what, "ask for the plan without a sketch")
    tree = spans.tree
    layer = user_layer(tree)
    line_end = spans.line_end.decode("ascii")
    name = f'"{layer}"' if spans.quoted else layer
    drawn = _lines(one, name, file.board.version >= STROKES_FROM)
    text = line_end.join(drawn) + line_end
    close = int(tree.end[0]) - 1
    written = splice(file.data, [Edit(close, close, text.encode("utf-8"))])
    found, _ = read_board(written)
    if found != file.board:
        raise GateError(
            "the sketch would change more than graphics", "nothing was written; please report this"
        )
    return written


def user_layer(tree: Tree) -> str:
    """The first layer for drawings that the file has; InputError where it has none."""
    table = tree.child(0, b"layers")
    rows = tree.children(table).tolist()
    names = set()
    for row in rows:
        atoms = [tree.text(atom.start, atom.end) for atom in tree.atoms(row)]
        names.update(atoms[1:2])
    for layer in LAYERS:
        if layer in names:
            return layer
    raise InputError(
        "the board has no user layer to draw on", f"add one of {', '.join(LAYERS)} to its layers"
    )


def _lines(one: Outlook, layer: str, strokes: bool) -> list[str]:
    width = _mm(one.plan.sizes.track)
    pen = f"(stroke (width {width}) (type solid))" if strokes else f"(width {width})"
    tail = f"{pen} (layer {layer})" if strokes else f"(layer {layer}) {pen}"
    radius = one.plan.sizes.via // 2
    found = []
    for route in one.plan.routes:
        for p in route.pieces:
            ends = f"(start {_mm(p.x1)} {_mm(p.y1)}) (end {_mm(p.x2)} {_mm(p.y2)})"
            found.append(f"  (gr_line {ends} {tail})")
        for x, y in route.vias:
            ends = f"(center {_mm(x)} {_mm(y)}) (end {_mm(x + radius)} {_mm(y)})"
            found.append(f"  (gr_circle {ends} {tail})")
    return found


def _mm(nm: int) -> str:
    """Millimetres as the files write them: six places at most, no trailing noughts."""
    whole, rest = divmod(abs(nm), NM_PER_MM)
    text = f"{whole}.{rest:06d}".rstrip("0").rstrip(".")
    return f"-{text}" if nm < 0 and text != "0" else text
