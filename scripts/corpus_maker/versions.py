"""What the file versions write differently; see the version table of the format facts."""

from __future__ import annotations

from typing import NamedTuple

from corpus_maker.sexpr import Layout

ROOT, SUFFIX, SHEET_SUFFIX = "kicad_pcb", ".kicad_pcb", ".kicad_sch"
MAKER = "corpus_maker"

_FLAT = frozenset((
    "page", "paper", "layer", "pad", "segment", "via", "arc", "fp_line", "fp_rect", "gr_line",
    "net", "effects", "at", "hatch", "fill", "connect_pads", "keepout",
    "filled_areas_thickness", "property",
))  # fmt: skip
_OLD_LEAD = {
    "kicad_pcb": frozenset({"version", "host", "generator"}),
    "module": frozenset({"layer", "tedit", "tstamp"}),
    "footprint": frozenset({"layer"}),
    "fp_text": frozenset({"at", "layer"}),
    "gr_text": frozenset({"at", "layer", "tstamp"}),
    "zone": frozenset({"net", "net_name", "layer", "tstamp", "name", "hatch"}),
}


class Version(NamedTuple):
    """One version's habits.

    ``table``: nets are numbered in a table.  ``functions``: pads say pin name
    and type.  ``private``: open pins have a net of their own, with the pin's
    name in it if "named".  ``ids``: the word before an identifier.  ``says_thin``:
    zones say that no pen was drawn round their fills.
    """

    number: int
    layout: Layout
    part_word: str
    table: bool
    functions: bool
    private: str
    ids: str
    properties: bool
    arcs: bool
    classes: bool
    copper: tuple[str, ...]
    back: int
    step: int
    says_thin: bool

    @property
    def old(self) -> bool:
        """Whether this is from before identifiers were long and names quoted."""
        return not self.layout.quoted

    def copper_name(self, layer: int, count: int) -> str:
        """A copper layer's name; 0 is the front, -1 or the last the back."""
        last = count - 1
        index = layer % count
        return self.copper[0 if index == 0 else 3 if index == last else index]

    def copper_number(self, index: int, count: int) -> int:
        """The number a copper layer has in the layer table."""
        if index == count - 1:
            return self.back
        return 0 if index == 0 else index if self.step == 1 else 2 + 2 * index


CANONICAL = ("F.Cu", "In1.Cu", "In2.Cu", "B.Cu")

OLD = Version(
    20171130, Layout(False, False, _FLAT, _OLD_LEAD), "module", True, False, "", "tstamp",
    False, False, True, ("Top", "Ground", "Supply", "Bottom"), 31, 1, False,
)  # fmt: skip

MIDDLE = Version(
    20211014, Layout(False, True, _FLAT, _OLD_LEAD), "footprint", True, True, "plain", "tstamp",
    False, True, False, CANONICAL, 31, 1, True,
)  # fmt: skip

RECENT = Version(
    20241229, Layout(True, True), "footprint", True, True, "named", "uuid",
    True, True, False, CANONICAL, 2, 2, True,
)  # fmt: skip

NEWEST = Version(
    20260206, Layout(True, True), "footprint", False, True, "named", "uuid",
    True, True, False, CANONICAL, 2, 2, False,
)  # fmt: skip

BY_NAME = {"old": OLD, "middle": MIDDLE, "recent": RECENT, "newest": NEWEST}
