"""Damaged files: whatever is done to them, they are read or refused with a place, never more."""

from __future__ import annotations

import re

import pytest
from cases.buoys import ALL, NETLIST_D, NETLIST_E, NEWEST, OLD
from hypothesis import given, settings
from hypothesis import strategies as st

from renet.errors import InputError
from renet.read.board import read_board
from renet.read.kind import kind_of
from renet.read.netlist import read_netlist

_TOKEN = re.compile(rb'"[^"]*"|[^\s()"]+|[()]|\s+')
FILES = [*ALL.values(), NETLIST_D, NETLIST_E]

junk = st.sampled_from(
    [
        b"",
        b"nan",
        b"1e9",
        b"-",
        b'""',
        b'"',
        b"()",
        b"9" * 30,
        b"\xff",
        b"locked",
        b"\\",
        b"-999999",
    ]
)


@st.composite
def damaged(draw: st.DrawFn) -> bytes:
    """A file with a few tokens lost, changed or put where they do not belong."""
    tokens = _TOKEN.findall(draw(st.sampled_from(FILES)))
    places = st.integers(0, len(tokens) - 1)
    for at in draw(st.lists(places, min_size=1, max_size=6)):
        instead = draw(junk | places.map(tokens.__getitem__))
        tokens[at] = draw(st.sampled_from([instead, tokens[at] + b" " + instead]))
    return b"".join(tokens)


def use(data: bytes) -> None:
    reader = read_netlist if kind_of(data) == "netlist" else read_board
    reader(data)


@settings(max_examples=400)
@given(damaged())
def test_damage_is_read_or_refused_with_a_place(data: bytes) -> None:
    try:
        use(data)
    except InputError as error:
        assert 1 <= error.line <= data.count(b"\n") + 1
        assert error.column >= 1
        assert error.what
        assert error.do


@pytest.mark.parametrize("data", [OLD, NEWEST, NETLIST_D], ids=["old", "newest", "netlist"])
def test_a_file_cut_short_anywhere_is_refused(data: bytes) -> None:
    for size in range(0, len(data.rstrip()), 37):
        with pytest.raises(InputError):
            use(data[:size])
