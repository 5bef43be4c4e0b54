"""Damage done to a file: a few random edits, most of them where they hurt."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Sequence

Mutation = Callable[[random.Random, bytes], bytes]

_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
_TOKEN = re.compile(rb'"(?:[^"\\\n]|\\.)*"|[^\s()"=,\[\]{}]+')
_REACH = 2000

JUNK: tuple[bytes, ...] = (
    *(b"", b"(", b")", b'"', b'""', b"\\", b"()", b"[", b"]", b"{", b"=", b"#", b",", b"'", b"."),
    *(b"\0", b"\xff", b"\xc3", b"\xed\xa0\x80", b"\xef\xbb\xbf", b"\xff\xfe", b"\r", b"\r\n"),
    *(b"nan", b"inf", b"-inf", b"1e400", b"1e-400", b"-0", b"0", b"-1", b"1e9", b"-1e-9"),
    *(
        b"9" * 20,
        b"9" * 400,
        b"9" * 5000,
        b"0." + b"3" * 400,
        b"2147483648",
        b"9223372036854775808",
    ),
    *(
        b"true",
        b"false",
        b"nil",
        b"yes",
        b"no",
        b"locked",
        b"*",
        b"*.Cu",
        b"U3",
        b"GND",
        b"1-99999",
    ),
    *(b'"\\n"', b'"a\\n(b"', b'"\\', b"\x1b[31m", b"\xe2\x80\xae", b"\xe2\x80\xa8", b"\xc2\xa0"),
    *(b"../../etc/passwd", b"(net 1 GND)", b"(net 99 x)", b'(net "")', b"(pts)", b"(at)"),
    b"(" * 300,
    b"[" * 300,
    b"x" * 3000,
)


def _spot(dice: random.Random, data: bytes) -> tuple[int, int]:
    """A short stretch of the file, most of them a few bytes long."""
    start = dice.randrange(len(data) + 1)
    return start, min(len(data), start + int(dice.paretovariate(0.8)))


def _flip(dice: random.Random, data: bytes) -> bytes:
    at = dice.randrange(len(data))
    return data[:at] + bytes([data[at] ^ 1 << dice.randrange(8)]) + data[at + 1 :]


def _cut(dice: random.Random, data: bytes) -> bytes:
    start, end = _spot(dice, data)
    return data[:start] + data[end:]


def _repeat(dice: random.Random, data: bytes) -> bytes:
    start, end = _spot(dice, data)
    return data[:end] + data[start:end] * dice.choice((1, 1, 2, 50)) + data[end:]


def _insert(dice: random.Random, data: bytes) -> bytes:
    at = dice.randrange(len(data) + 1)
    return data[:at] + dice.choice(JUNK) + data[at:]


def _near(dice: random.Random, data: bytes, pattern: re.Pattern[bytes]) -> tuple[int, int]:
    """A match of ``pattern`` at or after a random place; an empty stretch where there is none."""
    start = dice.randrange(len(data) + 1)
    found = pattern.search(data, start, start + _REACH) or pattern.search(data, 0, _REACH)
    return found.span() if found else (start, start)


def _renumber(dice: random.Random, data: bytes) -> bytes:
    start, end = _near(dice, data, _NUMBER)
    return data[:start] + dice.choice(JUNK) + data[end:]


def _other_token(dice: random.Random, data: bytes) -> bytes:
    start, end = _near(dice, data, _TOKEN)
    other = data[slice(*_near(dice, data, _TOKEN))]
    return data[:start] + dice.choice((other, dice.choice(JUNK))) + data[end:]


def _list_at(dice: random.Random, data: bytes) -> tuple[int, int]:
    """A list with its parentheses, strings not looked at; bounded in length."""
    start = data.find(b"(", dice.randrange(len(data)))
    depth = 0
    for at in range(max(start, 0), min(len(data), start + _REACH)):
        depth += (data[at] == ord("(")) - (data[at] == ord(")"))
        if not depth:
            return start, at + 1
    return 0, 0


def _drop_list(dice: random.Random, data: bytes) -> bytes:
    start, end = _list_at(dice, data)
    return data[:start] + data[end:]


def _copy_list(dice: random.Random, data: bytes) -> bytes:
    start, end = _list_at(dice, data)
    to = data.find(b"(", dice.randrange(len(data)))
    return data[: max(to, 0)] + data[start:end] + data[max(to, 0) :]


def _truncate(dice: random.Random, data: bytes) -> bytes:
    return data[: dice.randrange(len(data))]


def _whole(dice: random.Random, data: bytes) -> bytes:
    """What a careless editor does to a whole file."""
    return dice.choice(
        (
            b"\xef\xbb\xbf" + data,
            data.replace(b"\n", b"\r\n"),
            data.replace(b"\n", b"\r"),
            data.replace(b"\n", b" "),
            data.replace(b'"', b""),
            data.replace(b" ", b"\t "),
            data.decode("latin-1").encode("utf-16"),
            data.upper(),
            data + data,
        )
    )


MUTATIONS: Sequence[tuple[Mutation, int]] = (
    (_flip, 4),
    (_cut, 4),
    (_repeat, 3),
    (_insert, 5),
    (_renumber, 6),
    (_other_token, 8),
    (_drop_list, 6),
    (_copy_list, 4),
    (_truncate, 1),
    (_whole, 1),
)


def mutated(dice: random.Random, data: bytes) -> bytes:
    """``data`` with one to eight edits, few more often than many."""
    kinds, weights = zip(*MUTATIONS, strict=True)
    for mutation in dice.choices(kinds, weights, k=min(8, int(dice.paretovariate(0.9)))):
        if data:
            data = mutation(dice, data)
    return data
