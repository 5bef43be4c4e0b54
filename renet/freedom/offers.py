"""[[offers]] and pin names: what each pin can do."""

from __future__ import annotations

from collections.abc import Iterable
from fnmatch import fnmatchcase

from renet.errors import RulesError
from renet.freedom.names import functions_in
from renet.freedom.select import Names
from renet.nearest import quoted, suggestion
from renet.rules import Rules


class Functions:
    """The functions of every pin of the board; what is not known is not offered."""

    def __init__(self, names: Names, rules: Rules) -> None:
        self._names = names
        self._extra: dict[int, set[str]] = {}
        self._nameless: set[int] = set()  # pins whose names offer nothing
        self._by_part: dict[str, frozenset[str]] = {}
        for record in rules.offers:
            if record.file:
                raise RulesError(
                    f"the functions of {quoted(record.file)} were not read in",
                    "read the file before resolving the rules",
                    line=record.line,
                )
            pins = names.pins(record.part, record.pins, record.line)
            for pin in pins:
                self._extra.setdefault(pin, set()).update(record.functions)
            if record.only:
                self._nameless.update(pins)

    def of_pin(self, pin: int) -> frozenset[str]:
        """What this pin can do."""
        extra = self._extra.get(pin, set())
        if pin in self._nameless:
            return frozenset(extra)
        return frozenset(functions_in(self._names.board.pins[pin].name)) | extra

    def of_part(self, ref: str) -> frozenset[str]:
        """What some pin of the parts called ``ref`` can do."""
        if ref not in self._by_part:
            pins = self._names.pins_of(ref)
            self._by_part[ref] = frozenset(f for pin in pins for f in self.of_pin(pin))
        return self._by_part[ref]

    def nowhere(self, wanted: Iterable[str], rule: str, ref: str, line: int) -> RulesError:
        """The complaint that no pin offers any of ``wanted``."""
        refs = [ref] if ref else [part.ref for part in self._names.board.parts]
        known = {function for name in refs for function in self.of_part(name)}
        words = list(wanted)
        return RulesError(
            f"{rule}: no pin of {ref or 'the board'} offers {quoted(words[0])}",
            suggestion(words[0], known, "say in [[offers]] which pins do"),
            line=line,
        )


def matching(functions: Iterable[str], words: Iterable[str]) -> frozenset[str]:
    """The functions that equal one of ``words`` or match it as a glob."""
    globs = list(words)
    return frozenset(
        function
        for function in functions
        if any(function == word or fnmatchcase(function, word) for word in globs)
    )
