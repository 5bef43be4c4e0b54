"""Board against netlist: paired by pins, not by name."""

from __future__ import annotations

import pytest
from strategies.records import board_of

from renet.agree import compare, with_names
from renet.errors import InputError
from renet.model import Netlist, Node


def netlist_of(*nodes: tuple[str, str, str | None]) -> Netlist:
    return Netlist(
        "E", (), tuple(Node(ref, pin, net, f"N{pin}", "input") for ref, pin, net in nodes)
    )


BOARD = board_of({"U1": {"1": "A", "2": "B", "3": None}, "J1": {"1": "A", "2": "B"}})


def test_same_names_agree() -> None:
    same = netlist_of(
        ("U1", "1", "A"), ("U1", "2", "B"), ("U1", "3", None), ("J1", "1", "A"), ("J1", "2", "B")
    )
    found = compare(BOARD, same)
    assert found.alias == {"A": "A", "B": "B"}
    assert found.differs == {}


def test_automatic_names_may_differ() -> None:
    renamed = netlist_of(("U1", "1", "X"), ("U1", "2", "A"), ("J1", "1", "X"), ("J1", "2", "A"))
    found = compare(BOARD, renamed)
    assert found.alias == {"A": "X", "B": "A"}
    assert found.differs == {}


def test_a_pin_on_another_net_is_named() -> None:
    off = netlist_of(("U1", "1", "A"), ("U1", "2", "A"), ("J1", "1", "A"), ("J1", "2", "B"))
    found = compare(BOARD, off)
    assert list(found.differs) == [1]
    assert found.differs[1] == 'the board has it on "B", the netlist on "A"'


def test_a_pin_that_the_netlist_lacks_is_named() -> None:
    short = netlist_of(("U1", "1", "A"), ("J1", "1", "A"), ("J1", "2", "B"))
    assert compare(BOARD, short).differs == {1: "the netlist does not list this pin"}


def test_a_netlist_of_another_board_is_refused() -> None:
    with pytest.raises(InputError, match="another board: 0 of 4"):
        compare(BOARD, netlist_of(("R1", "1", "Q")))


def test_names_come_from_the_netlist_where_the_board_has_none() -> None:
    named = with_names(BOARD, netlist_of(("U1", "1", "A")))
    assert (named.pins[0].name, named.pins[0].type) == ("N1", "input")
    assert named.pins[1] == BOARD.pins[1]
