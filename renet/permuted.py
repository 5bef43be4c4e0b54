"""What a netlist declares permutable, beside the rules file, which goes first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from renet.model import Board
from renet.read.edif_cells import Trades, UnitOfPorts
from renet.rules import Pool, Rules, Unit

Declared = Sequence[tuple[str, Trades]]
Key = tuple[str, str]

_FIXED_TYPES = frozenset({"power_in", "power_out", "no_connect"})


def permuted(rules: Rules, declared: Declared, board: Board) -> Rules:
    """The rules with a pool or a unit for all that may trade and that the board has.

    A part that the rules file frees pins of is left to it.  Supply pins by type
    take no part.  A pool or unit that shares a pin with an earlier one is
    dropped: a pin is in one only.
    """
    types = {board.pin_key(index): pin.type for index, pin in enumerate(board.pins)}
    there = {key for key, kind in types.items() if kind not in _FIXED_TYPES}
    pools, units = list(rules.pools), list(rules.units)
    ruled = {pool.part for pool in pools}
    ruled |= {word.partition(":")[0] for unit in units for row in unit.tuples for word in row}
    taken: set[Key] = set()
    for part, trades in declared:
        if part in ruled or ":" in part:
            continue
        for pool in trades.pools:
            pins = tuple(pin for pin in dict.fromkeys(pool) if (part, pin) in there)
            if len(pins) > 1 and _claim(taken, part, pins):
                pools.append(Pool(part, pins))
        for unit in trades.units:
            rows = [row for row in unit.tuples if all((part, pin) in there for pin in row)]
            pins = tuple(pin for row in rows for pin in row)
            if len(rows) > 1 and len(set(pins)) == len(pins) and _claim(taken, part, pins):
                words = tuple(tuple(f"{part}:{pin}" for pin in row) for row in rows)
                units.append(Unit(words, inner=unit.inner))
    return rules._replace(pools=tuple(pools), units=tuple(units))


def _claim(taken: set[Key], part: str, pins: Iterable[str]) -> bool:
    """Whether no pin is taken yet; then all are."""
    keys = {(part, pin) for pin in pins}
    free = not keys & taken
    taken |= keys if free else set()
    return free


def in_board_names(declared: Declared, same: Mapping[Key, Key]) -> Declared:
    """The same with the board's names; ``same`` is pin of the netlist -> pin of the board.

    Pins that the board has not keep a name that no pin of it has.
    """
    by_part: dict[str, dict[str, Key]] = {}
    for (ref, pin), key in same.items():
        by_part.setdefault(ref, {})[pin] = key
    found = []
    for part, trades in declared:
        ours = by_part.get(part, {})
        name = next((key[0] for key in ours.values()), "")

        def own(pins: tuple[str, ...], ours: Mapping[str, Key] = ours) -> tuple[str, ...]:
            return tuple(ours[pin][1] if pin in ours else "" for pin in pins)

        units = tuple(UnitOfPorts(tuple(map(own, u.tuples)), u.inner) for u in trades.units)
        pools = tuple(map(own, trades.pools))
        found.append((name, Trades(pools, units, own(trades.kept))))
    return found


def not_permutable(declared: Declared, board: Board) -> dict[int, str]:
    """Pins that the netlist says are not permutable, by pin id, whatever the rules say."""
    kept = {(part, pin) for part, trades in declared for pin in trades.kept}
    return {
        index: "the netlist calls it nonPermutable"
        for index in range(len(board.pins))
        if board.pin_key(index) in kept
    }
