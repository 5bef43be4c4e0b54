"""From the records of side conditions to conditions on the parts they hold on."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from renet.errors import RulesError
from renet.freedom.apart import KeptApart
from renet.freedom.beside import BesideGround
from renet.freedom.choice import Chooser, UsedOnce, tied, used_up
from renet.freedom.condition import Condition
from renet.freedom.needs import NeedsFunction
from renet.freedom.offers import Functions, matching
from renet.freedom.order import BusOrder
from renet.freedom.pair import PairTogether, check_pair
from renet.freedom.peripheral import OneInstance, check_peripheral, wanted_functions
from renet.freedom.watch import Watch
from renet.nearest import quoted
from renet.rules import Apart, Beside, Needs, Order, Pair, Rules


def conditions_of(watch: Watch, rules: Rules) -> list[Condition]:
    """All conditions, by kind, then in the order of the rules, then by part."""
    found: list[Condition] = [_order(watch, record) for record in rules.orders]
    for pair in rules.pairs:
        found += _pairs(watch, pair)
    for apart in rules.aparts:
        found += _aparts(watch, apart)
    for beside in rules.besides:
        found += _besides(watch, beside)
    return found + _FunctionRules(watch, rules).conditions()


def _order(watch: Watch, record: Order) -> Condition:
    nets = [watch.names.net(word, record.line) for word in record.nets]
    (ref,) = watch.refs(record.part, record.line)
    return BusOrder(watch.names, record, watch.pins(ref, nets))


def _pairs(watch: Watch, record: Pair) -> Iterator[Condition]:
    check_pair(record)
    names = watch.names
    nets = [names.net(word, record.line) for word in record.nets]
    for ref in watch.refs(record.part, record.line):
        here = {names.board.pins[pin].net for pin in names.pins_of(ref)}
        for net in nets if record.part else ():
            if net not in here:
                raise RulesError(
                    f"net {quoted(names.net_label(net))} has no pin on {ref}",
                    f"correct the part or the nets of [[pair]] line {record.line}",
                    line=record.line,
                )
        yield PairTogether(names, record, watch.spots(ref), watch.pins(ref, nets))


def _aparts(watch: Watch, record: Apart) -> Iterator[Condition]:
    nets = watch.names.nets((*record.nets, *record.others), record.line)
    for ref in watch.refs(record.part, record.line):
        yield KeptApart(watch.names, record, watch.spots(ref), watch.pins(ref, nets))


def _besides(watch: Watch, record: Beside) -> Iterator[Condition]:
    nets = watch.names.nets(record.nets, record.line)
    ground = watch.names.nets(record.ground, record.line, may_fail=True)
    for ref in watch.refs(record.part, record.line):
        pins = watch.pins(ref, {**nets, **ground})
        yield BesideGround(watch.names, record, watch.spots(ref), pins)


class _FunctionRules:
    """Needs, peripherals, and what ties them together, part by part."""

    def __init__(self, watch: Watch, rules: Rules) -> None:
        self._watch = watch
        self._names = watch.names
        self._rules = rules
        self._functions = Functions(watch.names, rules)

    def conditions(self) -> list[Condition]:
        """All of them; RulesError for a function that nobody offers."""
        for need in self._rules.needs:
            rule = f"[[needs]] line {need.line}"
            self._check_offered(need.functions, rule, need.part, need.line)
        for peripheral in self._rules.peripherals:
            check_peripheral(peripheral)
            wanted = wanted_functions(peripheral)
            rule = f"[[peripheral]] line {peripheral.line}"
            self._check_offered(wanted, rule, peripheral.part, peripheral.line)
        named = [need.part for need in self._rules.needs]
        named += [peripheral.part for peripheral in self._rules.peripherals]
        refs = {*named, *self._watch.refs("", 0)} if named else set()
        return [one for ref in sorted(refs - {""}) for one in self._on_part(ref)]

    def _check_offered(self, words: Collection[str], rule: str, ref: str, line: int) -> None:
        if ref:
            self._names.parts(ref, line)
        refs = {ref} if ref else {part.ref for part in self._names.board.parts}
        if not any(matching(self._functions.of_part(name), words) for name in refs):
            raise self._functions.nowhere(sorted(words), rule, ref, line)

    def _on_part(self, ref: str) -> list[Condition]:
        peripherals = self._peripherals(ref)
        needs = [
            (record, NeedsFunction(self._names, record, self._functions, self._pins(ref, record)))
            for record in self._rules.needs
            if (record.part or ref) == ref
            and (record.part or matching(self._functions.of_part(ref), record.functions))
        ]
        choosers = [Chooser(one.nets, one.wants, one) for one in peripherals]
        in_peripheral = frozenset().union(*(one.nets for one in peripherals))
        for record, need in needs:
            wants = matching(self._functions.of_part(ref), record.functions)
            for net in sorted(need.nets - in_peripheral) if not record.shared else ():
                choosers.append(Chooser(frozenset({net}), wants, need))
        return [*(need for _, need in needs), *peripherals, *self._ties(choosers)]

    def _pins(self, ref: str, record: Needs) -> list[int]:
        return self._watch.pins(ref, self._names.nets(record.nets, record.line))

    def _peripherals(self, ref: str) -> list[OneInstance]:
        """Those that hold on a part; RulesError for a net in two of them."""
        found: list[OneInstance] = []
        owner: dict[int, OneInstance] = {}
        for record in self._rules.peripherals:
            offered = wanted_functions(record) & self._functions.of_part(ref)
            if (record.part or ref) != ref or not offered:
                continue
            nets = [self._names.net(word, record.line) for word in record.nets]
            pins = self._watch.pins(ref, nets)
            one = OneInstance(self._names, record, self._functions, pins)
            for net in nets:
                other = owner.setdefault(net, one)
                if other is not one:
                    raise RulesError(
                        f"net {quoted(self._names.net_label(net))} is in {other.rule} and in "
                        f"{one.rule}, both on {ref}",
                        "put it into one of them",
                        line=record.line,
                    )
            found.append(one)
        return found

    def _ties(self, choosers: list[Chooser]) -> Iterator[Condition]:
        for members in tied([used_up(chooser.wants) for chooser in choosers]):
            if len(members) > 1:
                chosen = [choosers[index] for index in members]
                yield UsedOnce(self._names, chosen, self._functions)
