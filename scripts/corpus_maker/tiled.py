"""A large board from a small one: its footprints, copper and zones again and again, side by side.

Made for measuring how time and memory grow.  Every tile has the references of
its own; nets are those of the one board, as on a panel that shares its supply.
"""

from __future__ import annotations

import math
import re

from renet.syntax import Tree, parse

_TILED = (b"footprint", b"module", b"segment", b"arc", b"via", b"zone", b"gr_line")
_PLACE = re.compile(rb"(\((?:at|start|mid|end|xy|center) )(-?\d+(?:\.\d+)?) (-?\d+(?:\.\d+)?)")
_REFERENCE = re.compile(rb'(\((?:fp_text reference|property "Reference") "?)([^\s")]+)')
_FIELD_MM = 1_500
"""A board may be 2 m wide at most."""


def tiled(data: bytes, size: int) -> bytes:
    """The board in ``data`` with as many tiles as give a text of at least ``size`` bytes."""
    tree = parse(data)
    kids = [tree.span(kid) for kid in tree.children(0).tolist() if _is_tiled(tree, kid)]
    end = tree.span(0)[1] - 1
    more = max(0, -(-(size - len(data)) // sum(last - first for first, last in kids)))
    columns = math.isqrt(more) + 1
    pieces = [data[:end]]
    for tile in range(1, more + 1):
        step = _FIELD_MM / columns
        shift = tile % columns * step, tile // columns * step
        pieces += [_moved(data[first:last], tile, shift) for first, last in kids]
    return b"\n".join([*pieces, data[end:]])


def _is_tiled(tree: Tree, kid: int) -> bool:
    return tree.keyword(kid) in _TILED


def _moved(text: bytes, tile: int, shift: tuple[float, float]) -> bytes:
    def shifted(found: re.Match[bytes]) -> bytes:
        x, y = float(found[2]) + shift[0], float(found[3]) + shift[1]
        return found[1] + b"%.6f %.6f" % (x, y)

    if text.startswith((b"(footprint", b"(module")):  # inside, places count from its own
        text = _REFERENCE.sub(rb"\g<1>\g<2>_%d" % tile, text)
        return _PLACE.sub(shifted, text, count=1)
    return _PLACE.sub(shifted, text)
