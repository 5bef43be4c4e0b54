"""The board while the search runs: who stands where, and what every option costs.

All totals are differences to the input.  A cost is (meetings, over-pads,
length): the first two weighted whole numbers, the last in nanometres with the
price of moved pins.  Costs compare in that order.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.engine.counts import Counts, Fixed, packed, segments
from renet.engine.options import Ground, Rows, Worth, build, draw, node_pads, pins_at
from renet.engine.orders import Orders
from renet.engine.table import Table
from renet.model import NONE, IntArray
from renet.spanning import span

Column = NDArray[Any]
Carried = list[tuple[int, int]]
_Key = tuple[int, tuple[tuple[int, ...], ...]]
TOLERANCE_NM = 1000.0
_REMEMBERED = 4096


class Cost(NamedTuple):
    """A cost or a difference of costs."""

    meetings: int
    over_pads: int
    length: float

    def plus(self, other: Cost) -> Cost:
        """The sum."""
        return Cost(
            self.meetings + other.meetings,
            self.over_pads + other.over_pads,
            self.length + other.length,
        )

    def below(self, other: Cost) -> bool:
        """Whether this is less by more than rounding could make it."""
        if self[:2] != other[:2]:
            return self[:2] < other[:2]
        return self.length < other.length - TOLERANCE_NM


NOTHING = Cost(0, 0, 0.0)


class Change(NamedTuple):
    """Items that go to other places: what it costs, and the edges that go and come.

    Edges are (edge, net); ``trees`` are the new trees of nets of several items.
    """

    places: Mapping[int, int]
    cost: Cost
    gone: Carried
    come: Carried
    trees: dict[int, IntArray]


class State:
    """Places of all items, kept together with the options they leave."""

    def __init__(self, ground: Ground, background: Mapping[int, IntArray]) -> None:
        self.ground = ground
        self.items = ground.stock.items
        self.place = np.array(
            [item.home * len(ground.stock.ways[item.group]) for item in self.items], dtype=np.int64
        )
        self.pin_net = ground.problem.pin_net.copy()
        first = ground.stock.first[:-1].tolist()
        self._pins = [pins_at(ground, self.items[number]) for number in first]
        self._built: dict[_Key, tuple[Rows, Worth]] = {}
        self._spanned: dict[tuple[int, ...], IntArray] = {}
        self._nets()
        self.table = Table(ground)
        self._build(self.table.regions)
        self.table.flatten()
        self.trees = {net: self.tree(net, {}) for net in sorted(self.shared)}
        self.total = NOTHING
        self.moved = 0
        self.counts = Counts(ground.edges, self._fixed(background), self.table.classes)
        self.adjust = np.zeros(len(self.table.over), dtype=np.int64)
        self.orders = None
        if ground.opposed is not None:
            self.orders = Orders(ground.opposed, len(ground.stock.ways[0]))
        self._stand()

    def _nets(self) -> None:
        """Find who carries each movable net: items, and pins that cannot move."""
        self.holders: dict[int, list[int]] = {}
        for number, item in enumerate(self.items):
            for net in item.live:
                self.holders.setdefault(net, []).append(number)
        self.shared = {net for net, found in self.holders.items() if len(found) > 1}
        self.dynamic = [bool(self.shared.intersection(item.live)) for item in self.items]
        free = set(self.ground.problem.free_pins.tolist())
        self._kept: dict[int, list[int]] = {net: [] for net in self.holders}
        for pin, net in enumerate(self.pin_net.tolist()):
            if net in self._kept and pin not in free:
                self._kept[net].append(pin)

    def _fixed(self, background: Mapping[int, IntArray]) -> Fixed:
        """The segments of nets that cannot move, and of movable nets where nothing moves."""
        ground = self.ground
        ends, weights = segments(background, ground.problem.cols, ground.weight)
        kept, owners = self.kept_edges()
        return Fixed(
            np.concatenate([ends, ground.edges.ends(kept)]),
            np.concatenate([weights, ground.weight[owners]]),
            ground.edges,
            self.table.classes,
        )

    def kept_edges(self) -> tuple[IntArray, IntArray]:
        """Edges of movable nets, with the nets, that are there wherever items stand."""
        edges, nets = [np.empty(0, dtype=np.int64)], [np.empty(0, dtype=np.int64)]
        for number in self.table.regions:
            edge, owner = self.table.common(number)
            alone = np.array([net not in self.shared for net in owner.tolist()], dtype=bool)
            edges.append(edge[alone])
            nets.append(owner[alone])
        return np.concatenate(edges), np.concatenate(nets)

    def against_fixed(self) -> IntArray:
        """What every option meets of what cannot move, by nets that no other item has."""
        self.counts.grow()
        alone = ~np.isin(self.table.net, sorted(self.shared))
        return self.table.sums(self.counts.background, alone)

    def _stand(self) -> None:
        """Count everything anew for the places as they are."""
        self.counts.clear()
        if self.orders is not None:
            self._alone = self.table.sums(self.counts.background)
            self._alone += self.table.inner + self.table.banned
            return
        carried = [
            pair
            for number in range(len(self.place))
            for pair in self._loose(number, int(self.place[number]))
        ]
        carried += [(e, net) for net, tree in self.trees.items() for e in tree.tolist()]
        self.counts.change([], self._weighed(carried))
        self._adjust(self.table.regions)

    def _weighed(self, carried: Carried) -> Carried:
        weight = self.ground.weight
        return [(edge, int(weight[net])) for edge, net in carried]

    def _build(self, numbers: list[int]) -> None:
        """Build the options of some items, all their new edges at once."""
        ground, drawn, keys = self.ground, {}, {}
        for number in numbers:
            live = self.items[number].live
            others = {net: self._net_pins(net, {}, number) for net in live}
            keys[number] = (number, tuple(map(tuple, others.values())))
            if keys[number] not in self._built:
                drawn[number] = draw(ground, self.items[number], others)
        trees = [found.trees for nets in drawn.values() for found in nets]
        if trees:
            a, b = (np.concatenate([tree[k] for tree in trees]) for k in (1, 2))
            ground.outlines.counts(ground.edges, ground.edges.add(a, b))
        for number in numbers:
            if number in drawn:
                found = build(ground, self.items[number], drawn[number])
            else:
                found = self._built.pop(keys[number])
            if self.dynamic[number]:
                self._built[keys[number]] = found
            self.table.put(number, *found)
        while len(self._built) > _REMEMBERED:
            del self._built[next(iter(self._built))]

    def _net_pins(self, net: int, places: Mapping[int, int], without: int = NONE) -> list[int]:
        """The pins of a movable net with some items at other places, and one left out."""
        pins = list(self._kept[net])
        for number in self.holders[net]:
            if number != without:
                item = self.items[number]
                place = places.get(number, int(self.place[number]))
                stand = self._pins[item.group][place].tolist()
                pins += [pin for pin, name in zip(stand, item.nets, strict=True) if name == net]
        return pins

    def tree(self, net: int, places: Mapping[int, int]) -> IntArray:
        """The whole tree of a movable net, as edges, with some items at other places."""
        problem, pins = self.ground.problem, self._net_pins(net, places)
        known = self._spanned.get((net, *pins))
        if known is None:
            pads = span(node_pads(problem, pins), problem.cols, problem.labels)
            known = self._spanned[(net, *pins)] = self.ground.edges.add(pads[:, 0], pads[:, 1])
            while len(self._spanned) > _REMEMBERED:
                del self._spanned[next(iter(self._spanned))]
        return known

    def _loose(self, number: int, place: int) -> Carried:
        """The edges of an item at a place, of those nets that no other item has."""
        edges, nets = self.table.rows(int(self.table.base[number]) + place)
        return [
            (edge, net)
            for edge, net in zip(edges.tolist(), nets.tolist(), strict=True)
            if net != NONE and net not in self.shared
        ]

    def edges_of(self, number: int) -> list[int]:
        """The edges that an item has because of where it stands."""
        edges, nets = self.table.rows(int(self.table.base[number] + self.place[number]))
        return [int(edge) for edge in edges[nets != NONE]]

    def _adjust(self, numbers: list[int]) -> None:
        """Recount what the options of items only seem to meet: their own standing edges."""
        table = self.table
        live = [number for number in numbers if self.items[number].live]
        for number in numbers if len(live) < len(numbers) else ():
            region = table.region(number)
            self.adjust[region] = table.inner[region] + table.banned[region]
        if not live:
            return
        option = np.concatenate(
            [np.arange(*table.region(n).indices(len(table.over))) for n in live]
        )
        stands = np.repeat((table.base + self.place)[live], table.places[live])
        own = table.between(option, stands, apart=False)
        self.adjust[option] = table.inner[option] + table.banned[option] - own

    def value(self) -> IntArray:
        """Per option, the meetings on the board when the item takes it and all others stay.

        By :class:`Orders` less what it would meet of the item that stands there.
        """
        if self.orders is not None:
            met = self.orders.values(self.place)[self.table.regions]
            return np.asarray(self._alone + met.reshape(-1))
        self.counts.grow()
        return self.table.sums(self.counts.meets) + self.adjust

    def options(self) -> IntArray:
        """The option that every item has taken."""
        return np.asarray(self.table.base + self.place)

    def trial(self, places: Mapping[int, int]) -> Change:
        """What it would cost to put items at other places, exactly."""
        change = self.known(places, NOTHING)
        if self.orders is not None:
            met = self.orders.change(self.place, places) + self._difference(self._alone, places)
            return change._replace(cost=Cost(int(met), *self._plain(places)))
        gone, come, trees = change.gone, change.come, change.trees
        self.counts.grow()
        meetings = self._meetings(come, gone) - self._meetings(gone, gone)
        if self.ground.joined:
            meetings -= self._seeming(places)
        rest = self._rest(places, trees) if len(places) > 1 and trees else self._plain(places)
        return change._replace(cost=Cost(meetings, *rest))

    def known(self, places: Mapping[int, int], cost: Cost) -> Change:
        """The same where the cost is known."""
        if self.orders is not None:
            return Change(places, cost, [], [], {})
        touched = sorted(
            {net for number in places for net in self.items[number].live if net in self.shared}
        )
        trees = {net: self.tree(net, places) for net in touched}
        return Change(places, cost, *self._swept(places, trees), trees)

    def pins_of(self, number: int) -> IntArray:
        """The pins on which an item stands."""
        return np.asarray(self._pins[self.items[number].group][self.place[number]])

    def nets_after(self, places: Mapping[int, int]) -> tuple[IntArray, IntArray]:
        """The pins on which items would come to stand, and their nets then."""
        pins = [self._pins[self.items[number].group][place] for number, place in places.items()]
        nets = [np.array(self.items[number].nets, dtype=np.int64) for number in places]
        return np.concatenate(pins), np.concatenate(nets)

    def _swept(
        self, places: Mapping[int, int], trees: dict[int, IntArray]
    ) -> tuple[Carried, Carried]:
        gone: Carried = []
        come: Carried = []
        for number, place in places.items():
            gone += self._loose(number, int(self.place[number]))
            come += self._loose(number, place)
        for net, tree in trees.items():
            gone += [(edge, net) for edge in self.trees[net].tolist()]
            come += [(edge, net) for edge in tree.tolist()]
        return gone, come

    def _meetings(self, some: Carried, gone: Carried) -> int:
        """What edges meet on a board without ``gone``, and among themselves."""
        if not some:
            return 0
        edge, net = np.array(some, dtype=np.int64).T
        left, left_net = np.array(gone, dtype=np.int64).reshape(-1, 2).T
        weight = self.ground.weight
        klass = np.searchsorted(self.table.classes, weight[net])
        total = int(self.counts.meets[klass, edge].sum())
        total -= int(self._cross(edge, left, weight[net], weight[left_net]).sum())
        inner = self._cross(edge, edge, weight[net], weight[net])
        return total + int(inner[net[:, None] != net[None, :]].sum()) // 2

    def _cross(self, u: IntArray, v: IntArray, weight_u: IntArray, weight_v: IntArray) -> IntArray:
        """(u, v): meetings of edges, pair by pair of two lists."""
        crossed, overlapped = self.ground.edges.meet(np.repeat(u, len(v)), np.tile(v, len(u)))
        weight = np.maximum(weight_u[:, None], weight_v[None, :]).reshape(-1)
        return packed(crossed, overlapped, weight).reshape(len(u), len(v))

    def _seeming(self, places: Mapping[int, int]) -> int:
        """What new edges, more than old ones, only seem to meet of their own net's kept edges."""
        total = 0
        for number, place in places.items():
            common, owner = self.table.common(number)
            for sign, where in ((1, place), (-1, int(self.place[number]))):
                loose = np.array(self._loose(number, where), dtype=np.int64).reshape(-1, 2)
                edge, net = loose[:, 0], loose[:, 1]
                weight = self.ground.weight
                met = self._cross(edge, common, weight[net], weight[owner])
                total += sign * int(met[net[:, None] == owner[None, :]].sum())
        return total

    def _plain(self, places: Mapping[int, int]) -> tuple[int, float]:
        """Over-pads and length with price, from the options of each item by itself."""
        over = self._difference(self.table.over, places)
        return int(over), float(self._difference(self.table.length, places))

    def _difference(self, column: Column, places: Mapping[int, int]) -> Any:
        """By how much a column of options changes when items go to other places."""
        number = np.array(list(places), dtype=np.int64)
        base = self.table.base[number]
        new, old = np.array(list(places.values()), dtype=np.int64), self.place[number]
        return (column[base + new] - column[base + old]).sum()

    def _rest(self, places: Mapping[int, int], trees: dict[int, IntArray]) -> tuple[int, float]:
        """The same where nets have several of the items: net by net."""
        over, length = 0, 0.0
        for number, place in places.items():
            base = int(self.table.base[number])
            price = self.table.price
            length += float(price[base + place] - price[base + int(self.place[number])])
        nets = dict.fromkeys(net for number in places for net in self.items[number].live)
        for net in nets:
            for sign, where in ((1, places), (-1, {})):
                found = self._net_cost(net, where, trees)
                over, length = over + sign * found[0], length + sign * found[1]
        return over, length

    def _net_cost(
        self, net: int, places: Mapping[int, int], trees: dict[int, IntArray]
    ) -> tuple[int, float]:
        """Weighted over-pads and length of one net with some items at other places."""
        if net in self.shared:
            edge = trees[net] if places else self.trees[net]
        else:
            number = self.holders[net][0]
            loose = self._loose(number, places.get(number, int(self.place[number])))
            common, owner = self.table.common(number)
            mine = [e for e, n in loose if n == net]
            edge = np.concatenate([np.array(mine, dtype=np.int64), common[owner == net]])
        edges, outlines = self.ground.edges, self.ground.outlines
        pins = np.array(self._net_pins(net, places), dtype=np.int64)
        hits = int(outlines.counts(edges, edge).sum())
        hits -= int(
            outlines.over(edges, np.repeat(edge, len(pins)), np.tile(pins, len(edge))).sum()
        )
        length = float(edges.length[edge].sum())
        return hits * int(self.ground.weight[net]), length

    def apply(self, change: Change) -> list[int]:
        """Make a change that was tried on the board as it stands; gives all items concerned."""
        gone, come = set(change.gone), set(change.come)
        self.counts.change(self._weighed(sorted(gone - come)), self._weighed(sorted(come - gone)))
        table = self.table
        for number, place in change.places.items():
            base, item = int(table.base[number]), self.items[number]
            self.moved += int(table.moved[base + place] - table.moved[base + self.place[number]])
            self.place[number] = place
            self.pin_net[self._pins[item.group][place]] = item.nets
        self.trees.update(change.trees)
        self.total = self.total.plus(change.cost)
        rebuilt = self._rebuild(change)
        concerned = sorted({*change.places, *rebuilt})
        if self.orders is None:
            self._adjust(concerned)
        return concerned

    def _rebuild(self, change: Change) -> list[int]:
        """Build the options of items again whose nets have moved elsewhere."""
        stale = sorted(
            {
                number
                for net in change.trees
                for number in self.holders[net]
                if any(other in change.places for other in self.holders[net] if other != number)
            }
        )
        if stale:
            self._build(stale)
            self.table.flatten(stale)
        return stale
