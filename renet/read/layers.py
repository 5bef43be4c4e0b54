"""The layer table: copper layers by id, and what a list of layer names means."""

from __future__ import annotations

from renet.atoms import ATOM, decode
from renet.model import NONE, Layer
from renet.syntax import Tree

EDGE = b"Edge.Cuts"
"""The layer that carries the board's outline; every version calls it so."""

_COPPER = frozenset({b"signal", b"power", b"mixed", b"jumper"})
_ALL_COPPER = frozenset({"*.Cu", "*"})
_OUTER_COPPER = "F&B.Cu"


class LayerTable:
    """Copper layers from front to back, and layer names to ids and masks.

    A layer is copper by its kind, whatever its number and name are: both
    changed over the versions, and old files let copper be renamed.  In every
    version the first copper row is the front and the last is the back.
    ``quoted`` says whether all names of the table are in quotes, which is how
    one sees whether a file always quotes its names.
    """

    __slots__ = ("_masks", "ids", "layers", "quoted")

    def __init__(self, tree: Tree) -> None:
        rows = _rows(tree)
        self.layers = tuple(_copper(tree, rows))
        self.quoted = all(atoms[1].startswith(b'"') for _, atoms in rows)
        self.ids = {layer.name: index for index, layer in enumerate(self.layers)}
        self._masks: dict[bytes, int] = {}

    @property
    def everything(self) -> int:
        """The mask of all copper layers."""
        return (1 << len(self.layers)) - 1

    def id_of(self, raw: bytes) -> int:
        """The copper layer an atom names, -1 if it names another."""
        return self.ids.get(_name(raw), NONE)

    def mask_of(self, raw: bytes) -> int:
        """The copper layers that the atoms of a list name, wildcards included."""
        mask = self._masks.get(raw)
        if mask is None:
            mask = 0
            for atom in ATOM.findall(raw):
                mask |= self._mask(_name(atom))
            self._masks[raw] = mask
        return mask

    def between(self, raw: bytes) -> int:
        """All layers from the first to the last that a via's list names; all if it names none."""
        mask = self.mask_of(raw)
        if not mask:
            return self.everything
        return (1 << mask.bit_length()) - (mask & -mask)

    def _mask(self, name: str) -> int:
        if name in self.ids:
            return 1 << self.ids[name]
        if name in _ALL_COPPER:
            return self.everything
        if name == _OUTER_COPPER and self.layers:
            return 1 | 1 << (len(self.layers) - 1)
        return 0


def _name(raw: bytes) -> str:
    """A layer name; one that is not UTF-8 names no layer of the table."""
    try:
        return decode(raw)
    except UnicodeDecodeError:
        return ""


def _rows(tree: Tree) -> list[tuple[int, list[bytes]]]:
    """The rows of the table: where each begins, and its number, name and kind at least."""
    table = tree.child(0, b"layers")
    if table == NONE:
        raise tree.fault(0, "the board has no list of layers", "is it a whole board file?")
    kids = tree.children(table)
    spans = zip(tree.start[kids].tolist(), tree.end[kids].tolist(), strict=True)
    rows = [(start, ATOM.findall(tree.data, start + 1, end - 1)) for start, end in spans]
    return [(start, atoms) for start, atoms in rows if len(atoms) > 2]


def _copper(tree: Tree, rows: list[tuple[int, list[bytes]]]) -> list[Layer]:
    """The copper layers of the table in file order."""
    found: dict[str, Layer] = {}
    for start, atoms in rows:
        kind = atoms[2].strip(b'"')
        if kind not in _COPPER:
            continue
        at = tree.data.index(atoms[1], start)
        name = tree.text(at, at + len(atoms[1]))
        if name in found:
            what = f"copper layer {name} stands twice in the list of layers"
            raise tree.fault(start, what, "give it one row")
        found[name] = Layer(name, kind.decode())
    if not found:
        raise tree.fault(0, "the list of layers has no copper layer", "is it a whole board file?")
    return list(found.values())
