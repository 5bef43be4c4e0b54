"""Check ``copper``: what was to stay has stayed, what was to leave has left, nothing is shorted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np

from renet.changes import Left
from renet.model import NONE, IntArray
from renet.read.spans import BoardSpans
from renet.verify.alignment import Alignment
from renet.verify.fanout import FILL, PAD, TEARDROP, TRACK, VIA, Fan, Item, NetCopper, rows_by_net
from renet.verify.nearby import Sieve
from renet.verify.pins import PinTable
from renet.verify.seats import Seat
from renet.verify.skeleton import FILL as FILL_HOLE
from renet.verify.verdict import COPPER, Counts, Finding, Place, net_words

_NOUNS = {b"segment": "track", b"arc": "arc", b"via": "via", b"zone": "teardrop"}


class Change(NamedTuple):
    """One moved pin, its pads, what touches them of its old net, and its fan-out."""

    seat: Seat
    pads: list[int]
    touching: list[Item]
    fan: Fan


class Recut:
    """The copper of both files and the pins that moved; ``check`` gives the findings."""

    def __init__(
        self,
        spans: BoardSpans,
        alignment: Alignment,
        table: PinTable,
        moved: Mapping[int, Seat],
        mode: str,
    ) -> None:
        self.board, self.alignment, self.table, self.mode = table.board, alignment, table, mode
        self.before, self.after = alignment.before, alignment.after
        self.pairs = alignment.pairs()
        self.zone_ends = np.array([zone.node[1] for zone in spans.zones], dtype=np.int64)
        tracks, vias = spans.tracks.node[:, 1], spans.vias.node[:, 1]
        self.ends = {TRACK: tracks, VIA: vias, TEARDROP: self.zone_ends, FILL: self.zone_ends}
        self.changed = {net for seat in moved.values() for net in (seat.was, seat.is_)} - {None}
        self.changes = self._changes(moved)
        self.owner = {
            self._item(item): change
            for change in self.changes
            if change.fan.reached is None
            for item in change.fan.items
        }
        self.freed = {*self.before.pad_nets.kinds}.difference(self.after.pad_nets.kinds)
        self.told: set[int] = set()

    def _item(self, item: Item) -> int:
        """Which outermost list this bit of copper is, -1 if it stands in a part."""
        return int(self._ending_at(self.ends[item.kind][[item.number]])[0])

    def _ending_at(self, ends: IntArray) -> IntArray:
        """Which outermost list ends at each offset, -1 where none does."""
        known = self.before.end
        at = np.searchsorted(known, ends)
        items: IntArray = np.where(known.take(at, mode="clip") == ends, at, NONE)
        return items

    @cached_property
    def locked_items(self) -> set[int]:
        """Outermost lists that are locked copper."""
        board, ends = self.board, self.ends
        held = (
            ends[TRACK][board.tracks.locked],
            ends[VIA][board.vias.locked],
            ends[TEARDROP][[number for number, zone in enumerate(board.zones) if zone.locked]],
        )
        return set(self._ending_at(np.concatenate(held)).tolist())

    def _changes(self, moved: Mapping[int, Seat]) -> list[Change]:
        board, facts = self.board, self.table.facts
        pins = [self.table.pads_of(pin) for pin in moved]
        of = facts.net[[pads[0] for pads in pins]].tolist()
        near = Sieve(board, facts, set(of)).near(pins, of).tolist()
        close = {net for net, some in zip(of, near, strict=True) if some}
        rows = rows_by_net(board, facts, close) if close else {}
        nets = {net: NetCopper(board, of_net) for net, of_net in rows.items()}
        changes = []
        for seat, pads, net, some in zip(moved.values(), pins, of, near, strict=True):
            touching = nets[net].at_pads(board, pads) if some else []
            fan = nets[net].walk(pads) if some else Fan((), None)
            changes.append(Change(seat, pads, touching, fan))
        return changes

    def check(self, counts: Counts) -> list[Finding]:
        """All findings."""
        counts.copper_checked += len(self.before.copper)
        findings = list(self._routed()) + list(self._locked())
        for item in self._doubtful():
            findings += self._fate(item)
        findings += self._zones_in_parts()
        findings += self._shorts()
        return findings

    # at the pins

    def _routed(self) -> Iterator[Finding]:
        """With copper kept, a pin that its copper joins to something may not move."""
        for change in self.changes if self.mode == "keep" else ():
            if change.fan.reached is not None:
                what = (
                    f"it moved although its copper was routed: it reaches "
                    f"{self._name(change.fan.reached)} on {net_words(change.seat.was)}"
                )
                yield Finding(COPPER, "routed", change.seat.label, what)

    def _locked(self) -> Iterator[Finding]:
        for change in self.changes:
            held = [i for i in change.touching if i.locked]
            if held:
                what = f"it moved although locked copper touches it: {self._name(held[0])}"
                yield Finding(COPPER, "locked", change.seat.label, what)

    def _name(self, item: Item) -> str:
        if item.kind == PAD:
            return self.table.pad_label(item.number)
        number = self._item(item)
        place = f" ({self._place(number)})" if number != NONE else ""
        noun = "filled area" if item.kind == FILL else item.kind
        return f"a {noun} of net {net_words(self._net_of(item))}{place}"

    def _net_of(self, item: Item) -> str | None:
        board = self.board
        column = {TRACK: board.tracks.net, VIA: board.vias.net}.get(item.kind)
        net = board.zones[item.number].net if column is None else int(column[item.number])
        return board.net_name(net)

    def _place(self, item: int) -> Place:
        return self.before.place(self.before.start[item])

    # item by item

    def _doubtful(self) -> list[int]:
        """Copper in file order, but for what is there byte by byte and means what it meant.

        That needs no look where all copper stays; fan-out of a moved pin always does.
        """
        before = self.before
        if self.mode != "keep":
            everything: list[int] = before.copper.tolist()
            return everything
        copper, after = before.copper, self.after.net_names
        other = {raw for raw, name in before.net_names.items() if after.get(raw, name) != name}
        same = (self.alignment.twins[copper] >= 0) & ~np.isin(copper, list(self.owner))
        doubtful: list[int] = copper[~same | before.copper_lists.where(other.__contains__)].tolist()
        return doubtful

    def _fate(self, item: int) -> Iterator[Finding]:
        """What became of one track, via, arc or zone."""
        now = self.pairs[item]
        had = self.before.real(self.before.copper_net(item))
        leaves = self.mode != "keep" and had in self.changed and item not in self.locked_items
        if self.before.word(item) == b"zone" and not self.before.is_teardrop(item):
            if now is not None:
                yield from self._fills(item, now, leaves, 0, had)
            return
        change = self.owner.get(item)
        if change is not None:
            yield from self._fan_fate(item, now, change)
        elif leaves:
            if now is not None:
                yield self._told(item, "leaves", f"net {had} changed, but this copper is left")
        elif now is None:
            if self.mode != "keep":
                why = "it is locked" if had in self.changed else "the net did not change"
                what = f"this copper of net {net_words(had)} is gone, but {why}"
                yield self._told(item, "stays", what)
        else:
            was, is_ = self.before.copper_net(item), self.after.copper_net(now)
            follows = had is None and was in self.freed and self.after.real(is_) is None
            if is_ != was and not follows:
                what = f"its net went from {was or 'no net'} to {is_ or 'no net'} with no pin"
                yield self._told(item, "net", what)
        if now is not None and self.before.is_teardrop(item):
            yield from self._fills(item, now, False, 0, had)

    def _told(self, item: int, rule: str, what: str) -> Finding:
        self.told.add(item)
        noun = _NOUNS[self.before.word(item)]
        return Finding(COPPER, rule, noun, what, self._place(item))

    def _fan_fate(self, item: int, now: int | None, change: Change) -> Iterator[Finding]:
        """Fan-out goes with its pin: it stays and carries what the pin carries."""
        label = change.seat.label
        if now is None:
            if self.mode != "keep":
                yield self._told(item, "fan-out", f"fan-out of {label} is gone, but it stays")
            return
        carried = self.after.copper_net(now)
        pin = self.after.pad_nets.one(change.pads[0])
        if carried != pin:
            what = f"fan-out of {label} carries {carried or 'no net'}, the pin {pin or 'no net'}"
            yield self._told(item, "fan-out", what)

    def _fills(
        self, item: int, now: int, leave: bool, owner: int, net: str | None
    ) -> Iterator[Finding]:
        """Filled areas of a zone: all there, or none."""
        if not leave and self.before.raw(item) == self.after.raw(now):
            return
        had, has = self._count(False, item, owner), self._count(True, now, owner)
        if has == (0 if leave else had):
            return
        changed = f"net {net_words(net)} " + ("changed" if leave else "did not change or is locked")
        what = f"{changed}, but {has} of {had} filled areas are left"
        rule = "leaves" if leave else "stays"
        yield Finding(COPPER, rule, "zone", what, self._place(item))

    def _count(self, after: bool, item: int, owner: int) -> int:
        holes = self.alignment.skeleton(after, item).holes
        return sum(hole.kind == FILL_HOLE and hole.owner == owner for hole in holes)

    def _zones_in_parts(self) -> Iterator[Finding]:
        """The same for zones inside parts, which are not outermost lists."""
        inside: Counter[int] = Counter()
        outermost = self._ending_at(self.zone_ends) != NONE
        for number, zone in enumerate(self.board.zones):
            if outermost[number]:
                continue
            part = int(np.searchsorted(self.before.start, self.zone_ends[number], side="right")) - 1
            inside[part] += 1
            net = self.board.net_name(zone.net)
            leave = self.mode != "keep" and net in self.changed
            now = self.pairs[part]
            if zone.fills and now is not None:
                yield from self._fills(part, now, leave, -inside[part], net)

    # shorts

    def _shorts(self) -> Iterator[Finding]:
        """What shared a net and touched, and has two nets now.

        Nothing but nets changes, so only copper at a moved pin can do that.
        """
        for change in self.changes:
            for item in change.touching:
                net = self._net_after(item)
                if net is not None and net[0] != change.seat.is_:
                    what = (
                        f"it carries {net_words(change.seat.is_)} and touches {self._name(item)}, "
                    )
                    what += f"which carries {net_words(net[0])}"
                    yield Finding(COPPER, "touch", change.seat.label, what)

    def _net_after(self, item: Item) -> tuple[str | None] | None:
        """What an item carries in AFTER; None where it is gone or was told of already."""
        if item.kind == PAD:
            return (self.after.real(self.after.pad_nets.one(item.number)),)
        number = self._item(item)
        now = self.pairs[number] if number != NONE else None
        if now is None or number in self.told:
            return None
        if item.kind == FILL and self._count(True, now, 0) == 0:
            return None
        return (self.after.real(self.after.copper_net(now)),)

    # the list of what left

    def check_left(self, left: Sequence[Left]) -> Iterator[Finding]:
        """What the change list says left is what left."""
        gone: dict[str, Counter[str]] = {}
        for item in self.before.copper.tolist():
            net = self.before.real(self.before.copper_net(item)) or ""
            now = self.pairs[item]
            kind = {b"via": "vias", b"zone": "fills"}.get(self.before.word(item), "tracks")
            lost = self._count(False, item, 0) if kind == "fills" else 1
            if kind == "fills" and now is not None:
                lost -= self._count(True, now, 0)
            if now is None or kind == "fills":
                gone.setdefault(net, Counter())[kind] += lost
        said = {entry.net: (entry.tracks, entry.vias, entry.fills) for entry in left}
        seen = {net: (c["tracks"], c["vias"], c["fills"]) for net, c in gone.items()}
        for net in sorted(said.keys() | seen.keys()):
            told, found = said.get(net, (0, 0, 0)), seen.get(net, (0, 0, 0))
            if told != found:
                what = "{} tracks, {} vias, {} filled areas left, the change list says {}, {}, {}"
                yield Finding(COPPER, "left", net_words(net or None), what.format(*found, *told))
