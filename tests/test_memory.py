"""Reading takes memory in proportion to the file, and a small multiple of it.

Traced are all allocations of Python and of numpy, which reports its own.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from typing import Any

import pytest
from cases.bombs import PAD, board, part

from renet.read.board import read_board
from renet.read.edif import read_edif
from renet.read.ipc356 import read_ipc356
from renet.read.netlist import read_netlist
from renet.read.rules import read_rules
from renet.read.swaps import read_swaps
from renet.syntax import parse

MULTIPLE = {read_rules: 120, read_edif: 60}
"""Rules files have values and places, but at most 1 MiB of text; EDIF has a path for every pin."""
USUAL = 40
FIXED = 1 << 20


def a_board(n: int) -> bytes:
    return board(part(b"U1", *(PAD % (k, k % 1000, 1, b"N1") for k in range(n))))


def a_netlist(n: int) -> bytes:
    nodes = b"".join(b'(node (ref "U1") (pin "%d"))\n' % k for k in range(n))
    return b'(export (version "E") (nets (net (code "1") (name "GND")\n' + nodes + b")))"


def a_list(n: int) -> bytes:
    row = b"327N%-13d   U1    -%-4d       A01X+%06dY-010000X0600Y0600R000 S1\n"
    return b"P  UNITS CUST 1\n" + b"".join(row % (k, k % 10_000, k) for k in range(n)) + b"999\n"


def an_edif(n: int) -> bytes:
    ports = b"".join(b"(port P%d)" % k for k in range(n))
    net = b"(net N%d (joined (portRef P%d (instanceRef U1))))\n"
    refs = b"".join(net % (k, k) for k in range(n))
    return (
        b"(edif d (library parts (cell C (view v (interface " + ports + b"))))"
        b"(library top (cell B (view v (interface) (contents"
        b"(instance U1 (viewRef v (cellRef C (libraryRef parts))))" + refs + b"))))"
        b"(design d (cellRef B (libraryRef top))))"
    )


def rules(n: int) -> bytes:
    return b"".join(b'[[keep]]\nnets = ["/N%d", "/M%d"]\n' % (k, k) for k in range(n))


def swaps(n: int) -> bytes:
    move = b'(swap %d (move (part "U1") (pin "%d") (name "") (was "A") (is "B")))\n'
    moves = b"".join(move % (k, k) for k in range(1, n + 1))
    return b'(renet_swaps (version 1) (source (kind board) (file "b") (sha256 "0"))' + moves + b")"


def peak(read: Callable[[bytes], Any], data: bytes) -> int:
    """The most that was allocated while reading, in bytes."""
    tracemalloc.start()
    try:
        read(data)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize(
    ("read", "made"),
    [
        (parse, a_board),
        (read_board, a_board),
        (read_netlist, a_netlist),
        (read_ipc356, a_list),
        (read_edif, an_edif),
        (read_rules, rules),
        (read_swaps, swaps),
    ],
    ids=lambda word: word.__name__,
)
def test_memory_is_a_small_multiple_of_the_file(
    read: Callable[[bytes], Any], made: Callable[[int], bytes]
) -> None:
    read(made(10))  # what is imported or compiled once is not of the file
    small, large = made(300), made(2400)
    taken = peak(read, small), peak(read, large)
    assert taken[1] <= FIXED + MULTIPLE.get(read, USUAL) * len(large), taken[1] / len(large)
    assert taken[1] <= FIXED + 2 * taken[0] * len(large) / len(small)
