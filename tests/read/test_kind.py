from __future__ import annotations

import pytest
from cases.buoys import ALL

from renet.errors import InputError
from renet.read.kind import expect, kind_of


def test_boards_and_netlists_are_told_by_their_first_word() -> None:
    assert {kind_of(data) for data in ALL.values()} == {"board"}
    assert kind_of(b"\n (\texport (version E))") == "netlist"
    expect(b"(export)", "netlist")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"# net list\n(", "F:1:1: this is a netlist of the older kind, which begins with a '#'"),
        (b"\n  # x", "F:2:3: this is a netlist of the older kind"),
        (b"(schematic (version 1))", "F:1:2: expected a board or a netlist but the outermost list"),
        (b"()", "F:1:2: expected a board or a netlist"),
        (b"<xml>", "F:1:1: expected '(' at the start but found '<'"),
        (b"", "F:1:1: the file is empty"),
        (b"\x89PNG\r\n\x1a\n\0", "F:3:1: the file is not text"),
    ],
)
def test_anything_else_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(InputError) as caught:
        kind_of(data)
    assert str(caught.value.in_file("F")).startswith(said)


def test_the_wrong_kind_is_refused() -> None:
    with pytest.raises(InputError, match="this is a netlist, not a board"):
        expect(b"(export)", "board")
