"""What a sheet takes over from another is what it would have made out by itself."""

from __future__ import annotations

import random
import re

import numpy as np
import pytest
from cases.scene import SHAPES, exchange, scene

from renet.syntax import parse
from renet.verify.alignment import Alignment
from renet.verify.column import Column
from renet.verify.sheet import Sheet

COLUMNS = (
    "rows",
    "row_names",
    "by_number",
    "plain_rows",
    "member_names",
    "copper_lists",
    "pad_numbers",
    "pad_types",
    "pad_marks",
    "pad_lists",
    "pad_nets",
    "net_lists",
    "net_names",
    "pad_real_nets",
    "private",
)
TRADES = (
    {},
    {"U3:41": "/SONDE_RX", "U3:42": "/SONDE_TX"},
    {"U3:41": None, "U3:46": "/SONDE_TX"},
    {"U3:41": "GND", "J7:1": None},
)


LIST = re.compile(rb'\(\w+(?: [^\s()"]+| "[^"]*")*\)')


def damaged(text: bytes, rng: random.Random) -> bytes:
    """Some small lists gone, doubled or put elsewhere; it need not be a board any more."""
    for _ in range(rng.choice((0, 1, 3))):
        one, two = (rng.choice(list(LIST.finditer(text))).span() for _ in "12")
        taken = text[slice(*one)] if rng.random() < 0.7 else b""
        text = text[: two[0]] + taken + text[two[rng.randrange(2)] :]
    return text


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("seed", range(30))
def test_what_is_shared_is_what_would_be_found(shape: str, seed: int) -> None:
    rng = random.Random(seed)
    before = scene(shape)
    after = damaged(exchange(before, rng.choice(TRADES), rip=rng.random() < 0.3).text(), rng)
    old = Sheet("before", before.text(), parse(before.text()))
    new, alone = (Sheet("after", after, parse(after)) for _ in "12")
    alignment = Alignment(old, new)
    new.share(old, alignment.twins, alignment.in_step)
    for column in COLUMNS:
        mine, theirs = (shown(getattr(sheet, column)) for sheet in (new, alone))
        assert mine == theirs, column


def shown(value: object) -> object:
    """A column or an array as a list, all else as it is."""
    if isinstance(value, Column):
        return value.rows
    return value.tolist() if isinstance(value, np.ndarray) else value
