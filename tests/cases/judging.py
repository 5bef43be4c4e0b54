"""How the tests of the second opinion ask: rules, exchanges, and which check fired."""

from __future__ import annotations

from cases.scene import (
    Scene,
)
from renet.changes import ChangeList, Move, Swap
from renet.rules import Pool, Rules
from renet.verify import (
    Expect,
    Verdict,
    verify_board,
)

POOL = Rules(pools=(Pool("U3", ("41-46",)),))
TRADE = {"U3:41": "/SONDE_RX", "U3:42": "/SONDE_TX"}
TO_SPARE = {"U3:41": None, "U3:46": "/SONDE_TX"}


def judged(before: Scene, after: Scene | bytes, **expect: object) -> Verdict:
    data = after if isinstance(after, bytes) else after.text()
    return verify_board(before.text(), data, Expect(**{"rules": POOL, **expect}))  # type: ignore[arg-type]


def only(verdict: Verdict, check: str, *rules: str) -> None:
    """Only this check fired, by these of its rules."""
    assert {(f.check, f.rule) for f in verdict.findings} == {(check, rule) for rule in rules}


def listed(before: Scene, after: Scene, copper: str = "keep") -> ChangeList:
    """The change list of everything that moved."""
    moves = tuple(
        Move(pad.ref, pad.number, pad.name, before.net(pad.label), after.net(pad.label))
        for pad in dict.fromkeys(before.pads)
        if before.net(pad.label) != after.net(pad.label)
    )
    unique = {(move.part, move.pin): move for move in moves}
    return ChangeList((), (Swap(1, tuple(unique.values())),), copper)


def edited(after: Scene, old: bytes, new: bytes, times: int = 1) -> bytes:
    data = after.text()
    assert data.count(old) >= 1, old
    return data.replace(old, new, times)
