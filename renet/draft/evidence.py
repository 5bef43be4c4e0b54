"""Everything that is known about every pin before judging, and where it was read.

Strongest first: a table of functions, which replaces what anything else says of
the functions of a pin that it names; the schematic's symbols, the netlist, the
board.  A supply or not-connected type counts whoever says it: keeping wins.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from renet import agree, planes
from renet.columns import natural, pad_columns
from renet.draft.symbols import SymbolPin
from renet.freedom.names import functions_in, role_by_type
from renet.freedom.select import Names
from renet.mappings import put, spread
from renet.model import NONE, Board, Netlist, Part
from renet.rules import Offers

TABLE = "the table of functions"
_PREFIX = re.compile(r"[A-Za-z_]+")
_BLANK = re.compile(r"(\w+) (\w+)")  # UART0 TXD, as header tables write it
_MUX = re.compile(r"\s*\((AF|ALT)_?\d+\)$")  # USART1_TX (AF7)
_REMAP = re.compile(r"([^_@\s]+)_(.+?)_REMAP(\d*)")  # UART1_TX_REMAP2
_SERIES = ("R", "L", "FB", "FR", "JP", "SJ")


@dataclass(frozen=True, slots=True)
class Evidence:
    """One board with all that is known of its pins.

    ``board`` has the best known pin names and types filled in, ``said_by`` tells
    per pin where its name is from.  ``functions`` and ``chosen`` are by pin id;
    ``complete``: pins of which ``functions`` says all, whatever their names say.
    ``supply``: nets that feed parts, each with why.  ``on_net``: the pins of each
    net.  ``beyond``: nets behind one series part.  ``differs``: pins on which
    board and netlist differ.
    """

    board: Board
    said_by: tuple[str, ...]
    functions: dict[int, tuple[str, ...]]
    chosen: dict[int, str]
    function_source: dict[int, str]
    complete: frozenset[int]
    supply: dict[int, str]
    on_net: tuple[tuple[int, ...], ...]
    beyond: dict[int, tuple[int, ...]]
    differs: dict[int, str]

    def net(self, pin: int) -> str:
        """Name of the net on a pin, "" for none."""
        return self.board.net_name(self.board.pins[pin].net) or ""

    def signal(self, pin: int) -> bool:
        """Whether a pin carries a net that is no supply."""
        net = self.board.pins[pin].net
        return net != NONE and net not in self.supply

    def ordered(self, part: Part) -> list[int]:
        """Pins of a part in pin order."""
        return sorted(part.pins, key=lambda pin: (natural(self.board.pins[pin].number), pin))

    def others(self, pin: int) -> list[int]:
        """Other pins on the net of a pin and on the nets behind one series part."""
        net = self.board.pins[pin].net
        if net == NONE:
            return []
        own = self.board.pins[pin].part
        nets = (net, *self.beyond.get(net, ()))
        return [p for n in nets for p in self.on_net[n] if self.board.pins[p].part != own]


def prefix(ref: str) -> str:
    """The letters a reference begins with, in capitals."""
    found = _PREFIX.match(ref)
    return found[0].upper() if found else ""


def gather(
    board: Board,
    netlist: Netlist | None = None,
    symbols: Iterable[SymbolPin] = (),
    tables: Sequence[Offers] = (),
) -> Evidence:
    """Bring all sources together; InputError when the netlist is of another board."""
    differs = agree.compare(board, netlist).differs if netlist else {}
    known = agree.with_names(board, netlist) if netlist else board
    both = zip(board.pins, known.pins, strict=True)
    said = ["the netlist" if not a.name and b.name else "the board" for a, b in both]
    by_key = {(pin.ref, pin.number): pin for pin in symbols}
    pins = list(known.pins)
    functions: dict[int, tuple[str, ...]] = {}
    chosen: dict[int, str] = {}
    source: dict[int, str] = {}
    for index, pin in enumerate(pins):
        symbol = by_key.get(known.pin_key(index))
        if symbol is None:
            continue
        if symbol.name:
            said[index] = "the schematic"
        kind = pin.type if role_by_type(pin.type) else symbol.type or pin.type
        pins[index] = pin._replace(name=symbol.name or pin.name, type=kind)
        if symbol.functions:
            functions[index] = tuple(dict.fromkeys(map(_plain, symbol.functions)))
            source[index] = "the schematic's symbol"
        if symbol.chosen:
            chosen[index] = _plain(symbol.chosen)
    known = replace(known, pins=tuple(pins))
    tabled = _from_tables(known, tables)
    functions |= tabled
    source |= dict.fromkeys(tabled, TABLE)
    remapped = _remapped(known, functions, tabled.keys())
    functions |= remapped
    source = dict.fromkeys(remapped, "its name") | source
    on_net = _on_net(known)
    supply = _supplies(known, on_net)
    beyond = _beyond(known, supply)
    return Evidence(
        known,
        tuple(said),
        functions,
        chosen,
        source,
        frozenset({*tabled, *remapped}),
        supply,
        on_net,
        beyond,
        dict(differs),
    )


def _plain(function: str) -> str:
    """A function as INSTANCE_SIGNAL, whatever the form it was written in."""
    bare = _MUX.sub("", function.strip())
    remap = _REMAP.fullmatch(bare)
    if remap:
        return put(remap[1], remap[3] or "1", remap[2])
    found = _BLANK.fullmatch(bare)
    return f"{found[1]}_{found[2]}" if found else bare


def _from_tables(board: Board, tables: Sequence[Offers]) -> dict[int, tuple[str, ...]]:
    """What the tables say of the pins that they name, all tables together."""
    names = Names(board)
    found: dict[int, tuple[str, ...]] = {}
    for record in tables:
        for pin in names.pins(record.part, record.pins, record.line):
            said = (*found.get(pin, ()), *map(_plain, record.functions))
            found[pin] = tuple(dict.fromkeys(said))
    return found


def _remapped(
    board: Board, functions: Mapping[int, tuple[str, ...]], tabled: Iterable[int]
) -> dict[int, tuple[str, ...]]:
    """Pins of parts with remap groups: all that they can do, their names' words included."""
    parts = {board.pins[p].part for p, said in functions.items() if any("@" in f for f in said)}
    found: dict[int, tuple[str, ...]] = {}
    for part in sorted(parts):
        pins = board.parts[part].pins
        by_name = {pin: functions_in(board.pins[pin].name)[1:] for pin in pins}
        by_name |= dict.fromkeys(tabled, ())
        every = {pin: (*functions.get(pin, ()), *by_name[pin]) for pin in pins}
        after = spread(every)
        found |= {pin: after[pin] for pin in pins if any("@" in f for f in after[pin])}
    return found


def _on_net(board: Board) -> tuple[tuple[int, ...], ...]:
    found: list[list[int]] = [[] for _ in board.nets]
    for index, pin in enumerate(board.pins):
        if pin.net != NONE:
            found[pin.net].append(index)
    return tuple(map(tuple, found))


def _supplies(board: Board, on_net: Sequence[Sequence[int]]) -> dict[int, str]:
    """Nets that feed parts, and planes: nothing on them is traded."""
    found = {
        n: f"a plane: {why}"
        for n, why in planes.left_out(board, pad_columns(board), (), ()).items()
    }
    for net, pins in enumerate(on_net):
        feeds = next((p for p in pins if board.pins[p].type in planes.POWER_TYPES), NONE)
        if planes.supply_name(board.nets[net]):
            found.setdefault(net, "called like a supply or a ground")
        elif feeds != NONE:
            found.setdefault(net, f"it has the power pin {board.pin_label(feeds)}")
    return found


def _beyond(board: Board, supply: dict[int, str]) -> dict[int, tuple[int, ...]]:
    found: dict[int, set[int]] = {}
    for part in board.parts:
        if len(part.pins) != 2 or prefix(part.ref) not in _SERIES:
            continue
        a, b = (board.pins[pin].net for pin in part.pins)
        if NONE in (a, b) or a == b or a in supply or b in supply:
            continue
        found.setdefault(a, set()).add(b)
        found.setdefault(b, set()).add(a)
    return {net: tuple(sorted(others)) for net, others in found.items()}
