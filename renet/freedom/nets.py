"""Rules about nets alone: [tangle], [[weight]], [[signal]].

Nets that a word finds by their full name go before nets that a glob finds; two
records of the same standing that contradict each other are an error, so the
order of the file means nothing.
"""

from __future__ import annotations

import numpy as np

from renet.errors import RulesError
from renet.freedom.select import Names
from renet.model import Board, IntArray
from renet.nearest import quoted
from renet.rules import Rules

THOUSANDTHS = 1000


def tangle_nets(board: Board, rules: Rules) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the nets that ``[tangle]`` takes in, and of those that it leaves out."""
    names, line = Names(board), rules.tangle_line
    taken, left = names.nets(rules.include, line), names.nets(rules.leave_out, line)
    for net in sorted(taken.keys() & left.keys()):
        if taken[net] == left[net]:
            raise RulesError(
                f"[tangle] both includes and leaves out net {quoted(board.nets[net])}",
                "name the net in full in one of the two",
                line=line,
            )
        del (taken if taken[net] > left[net] else left)[net]
    return tuple(board.nets[net] for net in taken), tuple(board.nets[net] for net in left)


def weights(names: Names, rules: Rules) -> IntArray:
    """The weight of every net in thousandths, at least 1; 1000 where no rule gives one."""
    found: dict[int, tuple[int, float, int]] = {}
    for record in rules.weights:
        for net, how in names.nets(record.nets, record.line).items():
            other = found.get(net)
            if other and other[0] == how and other[1] != record.factor:
                raise RulesError(
                    f"net {quoted(names.net_label(net))} has factor {other[1]:g} (line {other[2]}) "
                    f"and factor {record.factor:g} (line {record.line})",
                    "name the net in full where its own factor stands",
                    line=record.line,
                )
            if not other or how < other[0]:
                found[net] = (how, record.factor, record.line)
    weight = np.full(len(names.board.nets), THOUSANDTHS, dtype=np.int64)
    for net, (_, factor, _) in found.items():
        weight[net] = max(1, round(factor * THOUSANDTHS))
    return weight


def check_signals(names: Names, rules: Rules) -> None:
    """RulesError for a [[signal]] that finds no net, or a net both fast and quiet."""
    found: dict[int, tuple[int, str, int]] = {}
    for record in rules.signals:
        for net, how in names.nets(record.nets, record.line).items():
            other = found.setdefault(net, (how, record.kind, record.line))
            if other[0] == how and other[1] != record.kind:
                raise RulesError(
                    f"net {quoted(names.net_label(net))} is {other[1]} (line {other[2]}) and "
                    f"{record.kind} (line {record.line})",
                    "name the net in full where its own kind stands",
                    line=record.line,
                )
            if how < other[0]:
                found[net] = (how, record.kind, record.line)
