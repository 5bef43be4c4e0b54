"""What kind of file some bytes are: by the first word of the outermost list.

Lists of IPC-D-356A records have no brackets; they are known by their first line.
"""

from __future__ import annotations

import re

from renet.errors import InputError
from renet.scan import SPACE, check_text, fault

BOARD, NETLIST = "board", "netlist"
RECORDS = "list of IPC-D-356A records"
EDIF = "netlist in EDIF"

_ROOTS = {b"kicad_pcb": BOARD, b"export": NETLIST}
_ROOT = re.compile(rb"\s*\(\s*([^\s()\"]*)")
_FIRST = re.compile(rb"\s*(?:[CP] |[CP]\r?\n|[03][0-6]7.{20})")


def kind_of(data: bytes) -> str:
    """One of the four kinds above; InputError for anything else."""
    if _FIRST.match(data) and b"\0" not in data:
        return RECORDS
    if data.lstrip(SPACE)[:1] == b"#":
        at = len(data) - len(data.lstrip(SPACE))
        what = "this is a netlist of the older kind, which begins with a '#' line"
        raise fault(data, at, what, "export it again as one list that begins with (export")
    check_text(data)
    found = _ROOT.match(data)
    word = found[1] if found else b""
    if word.lower() == b"edif":
        return EDIF
    if word not in _ROOTS:
        at = found.start(1) if found else 0
        shown = word[:40].decode("utf-8", "replace")
        what = f"expected a board or a netlist but the outermost list is ({shown}"
        raise fault(data, at, what, "is it another program's file?")
    return _ROOTS[word]


def expect(data: bytes, kind: str) -> None:
    """InputError unless ``data`` is of this kind."""
    found = kind_of(data)
    if found != kind:
        do = "check the order of the files given"
        raise InputError(f"this is a {found}, not a {kind}", do, line=1, column=1)
