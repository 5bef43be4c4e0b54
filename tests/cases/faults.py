"""Faults injected into the calls to the system that writing makes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, ClassVar

FULL = OSError(28, "No space left on device")
ONCE: dict[str, BaseException] = {
    "disk full": FULL,
    "denied": PermissionError(13, "Permission denied"),
    "folder gone": FileNotFoundError(2, "No such file or directory"),
    "stopped": KeyboardInterrupt(),
}
WRITES = ("open", "write", "fsync", "mkdir", "link")


class Faults:
    """Makes call number ``number`` of ``os.word`` fail; with ``stays`` all writing from there on.

    A close that fails closes nevertheless, as it does on real systems.  The word
    ``short`` stands for a write that takes only half of what it is given.
    """

    CALLS: ClassVar = ("open", "write", "fsync", "close", "replace", "link", "unlink", "mkdir")

    def __init__(self, word: str, number: int, fault: BaseException, stays: bool = False) -> None:
        self.word, self.number, self.fault, self.stays = word, number, fault, stays
        self.calls, self.hit = 0, False

    def __repr__(self) -> str:
        then = " and on" if self.stays else ""
        return f"<{self.word} {self.number}{then}: {self.fault!r}>"

    @classmethod
    def all(cls) -> Iterator[Faults]:
        """Every fault at every call, until a run ends in which nothing was hit."""
        plans = [(word, ONCE[why], False) for word in cls.CALLS for why in ("disk full", "stopped")]
        plans += [(word, ONCE[why], False) for word in ("open", "mkdir", "replace", "link")
                  for why in ("denied", "folder gone")]  # fmt: skip
        plans += [("write", FULL, True), ("short", FULL, False)]
        for word, fault, stays in plans:
            for number in range(1, 200):
                one = cls(word, number, fault, stays)
                yield one
                if not one.hit:
                    break

    def around(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        """``os.name`` with the faults."""

        def call(*args: Any, **named: Any) -> Any:
            short = self.word == "short" and name == "write"
            if name == self.word or short:
                self.calls += 1
            due = self.calls == self.number and (name == self.word or short)
            if due and short:
                self.hit = True
                return real(args[0], args[1][: max(1, len(args[1]) // 2)])
            if due or (self.stays and self.hit and name in (*WRITES, self.word)):
                self.hit = True
                if name == "close":
                    real(*args)
                raise self.fault
            return real(*args, **named)

        return call
