"""[[keep]], the ``keep`` of pools, and [[mate]]: pins that stay because the rules say so."""

from __future__ import annotations

from renet.errors import RulesError
from renet.freedom.select import Names
from renet.model import NONE
from renet.nearest import quoted
from renet.rules import Mate, Rules, line_of


def kept_by_rules(names: Names, rules: Rules) -> dict[int, str]:
    """Every pin that the rules keep, with the reason; the first kind of reason stands."""
    kept: dict[int, str] = {}
    for keep in sorted(rules.keeps, key=lambda record: record.line):
        for pin in names.far_pins(keep.pins, keep.line):
            kept.setdefault(pin, f"kept by [[keep]] line {keep.line}")
    for keep in sorted(rules.keeps, key=lambda record: record.line):
        _keep_nets(names, keep.nets, keep.line, kept)
    for pool in sorted(rules.pools, key=lambda record: record.line):
        for pin in names.pins(pool.part, pool.keep, pool.line):
            kept.setdefault(pin, f"kept by the keep list of [[pool]] line {pool.line}")
    for mate in sorted(rules.mates, key=lambda record: record.line):
        _keep_connector(names, mate, kept)
    return kept


def _keep_nets(names: Names, words: tuple[str, ...], line: int, kept: dict[int, str]) -> None:
    nets = names.nets(words, line)
    for index, pin in enumerate(names.board.pins):
        if pin.net != NONE and pin.net in nets:
            net = names.net_label(pin.net)
            kept.setdefault(index, f"its net {net} is kept by [[keep]] line {line}")


def _keep_connector(names: Names, mate: Mate, kept: dict[int, str]) -> None:
    """One side of a mate is on this board, or both are on others."""
    refs = {part.ref for part in names.board.parts}
    for word, other in ((mate.a, mate.b), (mate.b, mate.a)):
        board, colon, ref = word.partition(":")
        if not (board and colon and ref):
            raise RulesError(
                f"{quoted(word)} names no connector of a board",
                'write BOARD:PART, such as "main:J4"',
                line=line_of(word, mate.line),
            )
        if ref in refs:
            why = f"[[mate]] line {mate.line}: {other} would have to follow"
            for part in names.parts(ref, mate.line):
                for pin in names.board.parts[part].pins:
                    kept.setdefault(pin, why)
