"""What the words of a rules file find on a board: parts, pins, nets.

The order of readings is that of :mod:`renet.rules`, "Words".  A word that finds
nothing is a RulesError with its line and the name that was probably meant.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from fnmatch import translate

import numpy as np

from renet.columns import natural
from renet.errors import RulesError
from renet.model import NONE, Board, IntArray
from renet.nearest import quoted, suggestion
from renet.rules import file_of, line_of

# How a word found a pin or a net; a smaller one is more definite.
BY_NUMBER, BY_RANGE, BY_NAME = 0, 1, 2
IN_FULL, BY_GLOB = 0, 1

_RANGE = re.compile(r"([0-9]{1,9})-([0-9]{1,9})")
_DECIMAL = re.compile(r"[0-9]{1,9}")


def _matcher(word: str) -> Callable[[str], object]:
    """Whether a name equals ``word`` or matches it as a glob; case counts."""
    pattern = re.compile(translate(word))
    return lambda name: name == word or pattern.match(name)


class Names:
    """The names of one board, ready for looking up."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self._input = np.array([pin.net for pin in board.pins], dtype=np.int64)
        self._parts: dict[str, list[int]] = {}
        for index, part in enumerate(board.parts):
            self._parts.setdefault(part.ref, []).append(index)
        carried = sorted({pin.net for pin in board.pins} - {NONE})
        self._nets: dict[str, list[int]] = {}  # nets with a pin: a rule about others is a slip
        for index in carried:
            self._nets.setdefault(board.nets[index], []).append(index)
        self._numbered: dict[tuple[int, str], list[int]] = {}
        for index, pin in enumerate(board.pins):
            self._numbered.setdefault((pin.part, pin.number), []).append(index)
        keys = [
            (board.parts[pin.part].ref, natural(pin.number), index)
            for index, pin in enumerate(board.pins)
        ]
        self._rank = [0] * len(keys)
        for place, index in enumerate(sorted(range(len(keys)), key=keys.__getitem__)):
            self._rank[index] = place

    @property
    def input_nets(self) -> IntArray:
        """The net of every pin of the board as it came."""
        return self._input.copy()

    def rank(self, pin: int) -> int:
        """Place of a pin in the order of part reference, then pin order."""
        return self._rank[pin]

    def in_order(self, pins: Iterable[int]) -> list[int]:
        """Pins sorted by part reference, then in pin order."""
        return sorted(pins, key=self._rank.__getitem__)

    def parts(self, ref: str, line: int) -> list[int]:
        """The parts called ``ref``: one, unless the board repeats the reference."""
        if ref not in self._parts:
            raise RulesError(
                f"part {quoted(ref)} is not on the board",
                suggestion(ref, self._parts, "write a reference that the board has"),
                file=file_of(ref),
                line=line_of(ref, line),
            )
        return self._parts[ref]

    def pins_of(self, ref: str) -> list[int]:
        """All pins of the parts called ``ref``, in the order of the board."""
        return [pin for part in self._parts[ref] for pin in self.board.parts[part].pins]

    def pins(self, ref: str, words: Iterable[str], line: int) -> dict[int, int]:
        """Pins of part ``ref`` that pin words find, each with its most definite way."""
        parts = self.parts(ref, line)
        found: dict[int, int] = {}
        for word in words:
            hits = self._pins_by_word(parts, word)
            if not hits:
                raise self._no_pin(ref, word, line)
            for pin, how in hits.items():
                found[pin] = min(how, found.get(pin, how))
        return found

    def far_pins(self, words: Iterable[str], line: int) -> dict[int, int]:
        """Pins that ``PART:PIN`` words find on all the parts they name."""
        found: dict[int, int] = {}
        for word in words:
            ref, colon, pin_word = word.partition(":")
            if not colon or not ref or not pin_word:
                raise RulesError(
                    f"{quoted(word)} names no pin",
                    'write PART:PIN, such as "U3:12"',
                    line=line_of(word, line),
                )
            hits = self._pins_by_word(self._parts_by_word(ref, line_of(word, line)), pin_word)
            if not hits:
                raise self._no_pin(ref, pin_word, line_of(word, line))
            for pin, how in hits.items():
                found[pin] = min(how, found.get(pin, how))
        return found

    def one_pin(self, word: str, line: int) -> tuple[int, int]:
        """The only pin that a ``PART:PIN`` word finds, and how."""
        found = self.far_pins((word,), line)
        if len(found) != 1:
            first = ", ".join(self.label(pin) for pin in self.in_order(found)[:3])
            raise RulesError(
                f"{quoted(word)} finds {len(found)} pins ({first} ...)",
                "name one pin, best by its number",
                line=line_of(word, line),
            )
        return next(iter(found.items()))

    def nets(self, words: Iterable[str], line: int, may_fail: bool = False) -> dict[int, int]:
        """Nets that net words find, each IN_FULL or BY_GLOB.

        With ``may_fail`` a word may find nothing.
        """
        found: dict[int, int] = {}
        for word in words:
            if word in self._nets:
                found.update(dict.fromkeys(self._nets[word], IN_FULL))
                continue
            fits = _matcher(word)
            hits = [net for name, nets in self._nets.items() if fits(name) for net in nets]
            if not hits and not may_fail:
                raise self._no_net(word, line)
            for net in hits:
                found.setdefault(net, BY_GLOB)
        return found

    def net(self, word: str, line: int) -> int:
        """The net of exactly this name."""
        if word not in self._nets:
            raise self._no_net(word, line)
        return self._nets[word][0]

    def label(self, pin: int) -> str:
        """``PART:PIN``."""
        return self.board.pin_label(pin)

    def net_label(self, net: int) -> str:
        """The net's name, or words for no net."""
        return self.board.net_name(net) or "no net"

    def _parts_by_word(self, word: str, line: int) -> list[int]:
        if word in self._parts:
            return self._parts[word]
        fits = _matcher(word)
        found = [part for ref, parts in self._parts.items() if fits(ref) for part in parts]
        return found or self.parts(word, line)  # which says that there is none

    def _pins_by_word(self, parts: Iterable[int], word: str) -> dict[int, int]:
        found: dict[int, int] = {}
        for part in parts:
            found.update(self._pins_of_part(part, word))
        return found

    def _pins_of_part(self, part: int, word: str) -> dict[int, int]:
        exact = self._numbered.get((part, word))
        if exact:
            return dict.fromkeys(exact, BY_NUMBER)
        here = self.board.parts[part].pins
        pins = self.board.pins
        span = _RANGE.fullmatch(word)
        if span:
            low, high = int(span[1]), int(span[2])
            inside = [pin for pin in here if _within(pins[pin].number, low, high)]
            if inside:
                return dict.fromkeys(inside, BY_RANGE)
        fits = _matcher(word)
        return dict.fromkeys((pin for pin in here if fits(pins[pin].name)), BY_NAME)

    def _no_pin(self, ref: str, word: str, line: int) -> RulesError:
        parts = self._parts_by_word(ref, line)
        pins = [pin for part in parts for pin in self.board.parts[part].pins]
        names = {self.board.pins[pin].name for pin in pins}
        numbers = {self.board.pins[pin].number for pin in pins}
        span = _RANGE.fullmatch(word)
        if span:
            what = f"{ref} has no pin with a number from {span[1]} to {span[2]}"
            turned = f'write "{span[2]}-{span[1]}"' if int(span[1]) > int(span[2]) else ""
            ordered = sorted(numbers, key=natural)
            do = turned or (f"its pins go from {ordered[0]} to {ordered[-1]}" if ordered else "")
        elif not pins:
            what, do = f"{ref} has no pins", "its pads have no numbers: take it out of the rules"
        else:
            what = f"{ref} has no pin {quoted(word)}"
            plain = "its pins have no names, only numbers" if names <= {""} else ""
            do = suggestion(word, names | numbers, plain or "write a pad number or a pin name")
        return RulesError(what, do, file=file_of(word), line=line_of(word, line))

    def _no_net(self, word: str, line: int) -> RulesError:
        if word in self.board.nets:
            what = f"net {quoted(word)} has no pin on the board"
            return RulesError(what, "take it out of the rules", line=line_of(word, line))
        return RulesError(
            f"no net of the board is called {quoted(word)}",
            suggestion(word, self._nets, "write the name as the board has it"),
            line=line_of(word, line),
        )


def _within(number: str, low: int, high: int) -> bool:
    return bool(_DECIMAL.fullmatch(number)) and low <= int(number) <= high
