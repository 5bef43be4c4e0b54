"""A function of a part is used once: peripherals and nets with needs choose together.

Scope: those of one part that functions tie together.  Legal: each can take its
functions so that none is taken twice; who has nothing to choose from takes
nothing.  Why: where the nets stand.

Peripherals are tried instance by instance, depth first; nets with needs are
matched to what is left by augmenting paths (bipartite matching; H. W. Kuhn, The
Hungarian method for the assignment problem, 1955).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from renet.freedom.condition import Condition, Tie, Violation, chained
from renet.freedom.needs import NeedsFunction
from renet.freedom.offers import Functions
from renet.freedom.peripheral import OneInstance
from renet.freedom.select import Names
from renet.model import IntArray

Options = Sequence[frozenset[str]]

_MOST_TRIALS = 4096


class Chooser(NamedTuple):
    """A peripheral, or one net with one need: ``wants`` is all it could take on the part."""

    nets: frozenset[int]
    wants: frozenset[str]
    source: OneInstance | NeedsFunction


def used_up(functions: Iterable[str]) -> frozenset[str]:
    """What nobody else may take then: the functions; of one in a mapping its whole instance."""
    return frozenset(f"{f.partition('@')[0]}@" if "@" in f else f for f in functions)


class UsedOnce(Condition):
    """All choosers of one part that their wants tie together."""

    def __init__(self, names: Names, choosers: Sequence[Chooser], functions: Functions) -> None:
        rules = sorted({(chooser.source.line, chooser.source.rule) for chooser in choosers})
        pins = {pin for chooser in choosers for pin in chooser.source.pins.tolist()}
        super().__init__(names, ", ".join(rule for _, rule in rules), rules[0][0], pins)
        self._choosers = choosers
        self._offered = {pin: functions.of_pin(pin) for pin in pins}
        self.nets = frozenset(net for chooser in choosers for net in chooser.nets)

    def broken(self, nets: IntArray) -> frozenset[Violation]:
        """All facts at once where not everybody can choose."""
        options = [self._options(chooser, nets) for chooser in self._choosers]
        if can_choose([option for option in options if option]):
            return frozenset()
        return frozenset({frozenset(self.facts(nets, self.nets))})

    def why(self, violation: Violation) -> str:
        """Where the nets stand."""
        return f"some function would be used twice: {self.told(violation)}"

    def ties(self, before: IntArray, after: IntArray) -> list[Tie]:
        """Moves of choosers that want the same functions, before or after.

        Where the input is broken its constellation moves as a whole.
        """
        wants = [
            frozenset().union(*self._options(chooser, before), *self._options(chooser, after))
            for chooser in self._choosers
        ]
        sets = [list(range(len(wants)))] if self.broken(before) else tied(wants)
        found: list[Tie] = []
        for members in sets:
            nets = frozenset(net for index in members for net in self._choosers[index].nets)
            found += chained(
                pin
                for pin in self.pins.tolist()
                if before[pin] != after[pin]
                and (int(before[pin]) in nets or int(after[pin]) in nets)
            )
        return found

    def _options(self, chooser: Chooser, nets: IntArray) -> Options:
        if isinstance(chooser.source, OneInstance):
            return [used_up(option) for option in chooser.source.options(nets)]
        offered = {
            function
            for pin, _ in self.facts(nets, chooser.nets)
            for function in used_up(self._offered[pin] & chooser.wants)
        }
        return [frozenset({function}) for function in sorted(offered)]


def tied(wants: Sequence[frozenset[str]]) -> list[list[int]]:
    """Indices in sets that share functions, directly or through others."""
    leader = list(range(len(wants)))
    first: dict[str, int] = {}
    for index, functions in enumerate(wants):
        for function in sorted(functions):
            _join(leader, index, first.setdefault(function, index))
    sets: dict[int, list[int]] = {}
    for index in range(len(wants)):
        sets.setdefault(_find(leader, index), []).append(index)
    return list(sets.values())


def _find(leader: list[int], index: int) -> int:
    while leader[index] != index:
        leader[index] = leader[leader[index]]
        index = leader[index]
    return index


def _join(leader: list[int], a: int, b: int) -> None:
    low, high = sorted((_find(leader, a), _find(leader, b)))
    leader[high] = low


def can_choose(options: Iterable[Options]) -> bool:
    """Whether each can take one of its options so that no function is taken twice.

    Gives up, and says no, after some thousand combinations of instances.
    """
    every = list(options)
    wide = sorted((o for o in every if any(len(s) > 1 for s in o)), key=len)
    narrow = [sorted(function for s in o for function in s) for o in every if o not in wide]
    stack: list[tuple[int, frozenset[str]]] = [(0, frozenset())]
    trials = 0
    while stack and trials < _MOST_TRIALS:
        depth, taken = stack.pop()
        if depth < len(wide):
            free = [option for option in wide[depth] if not option & taken]
            stack += [(depth + 1, taken | option) for option in reversed(free)]
            continue
        trials += 1
        if _matched([[f for f in wishes if f not in taken] for wishes in narrow]):
            return True
    return False


def _matched(wishes: Sequence[Sequence[str]]) -> bool:
    """Whether each can have one of its wishes to itself."""
    holder: dict[str, int] = {}
    for start in range(len(wishes)):
        came: dict[str, str] = {}  # function -> the function its asker holds, "" for the start
        queue: list[tuple[int, str]] = [(start, "")]
        free = ""
        for asker, held in queue:
            for function in wishes[asker]:
                if function not in came:
                    came[function] = held
                    if function not in holder:
                        free = function
                        break
                    queue.append((holder[function], function))
            if free:
                break
        if not free:
            return False
        while came[free]:
            holder[free] = holder[came[free]]
            free = came[free]
        holder[free] = start
    return True
