"""The second opinion on an updated EDIF netlist: portRefs went to other nets, nothing else.

Own reading: one pass over the tokens with a stack.  What stands outside the
portRefs of parts must be the same byte for byte; of those, each stands where it
stood or moved to the net that was meant.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from renet.errors import RenetError
from renet.model import Netlist
from renet.read.edif import EdifSpans, read_edif
from renet.verify.judge import judge
from renet.verify.seats import Seat
from renet.verify.verdict import BYTES, PINS, Expect, Finding, Verdict, unreadable

_TOKEN = re.compile(rb'[()]|"(?:[^"\\]|\\.)*"|[^\s()"][^\s()]*', re.DOTALL)
_SPACE = b" \t\n\r\f\v"

Key = tuple[str, str]


class Ref(NamedTuple):
    """A portRef of a part: its text, the white space before it, and the number of its net."""

    text: bytes
    lead: bytes
    net: int


class Reading(NamedTuple):
    """A file without its portRefs, and those by (instance, port) in lower case."""

    frame: bytes
    refs: dict[Key, Ref]
    twice: tuple[Key, ...]


def verify_edif(before: bytes, after: bytes, expect: Expect) -> Verdict:
    """Whether AFTER is BEFORE with pins moved as expected.

    Rules that measure distances are not asked: a netlist has none.
    """
    verdict = Verdict()
    netlist, spans = read_edif(before)
    try:
        read_edif(after)
    except RenetError as fault:
        verdict.findings.append(unreadable(fault))
        return verdict
    counts = verdict.counts
    counts.bytes_compared += len(after)
    old, new = _reading(before), _reading(after)
    verdict.findings += [*_frame(old, new), *_refs(old, new), *_reader(netlist, spans, old)]
    seats = _seats(netlist, spans, old, new)
    counts.pins_compared += len(seats)
    judge(verdict, seats, expect)
    return verdict


def _reading(data: bytes) -> Reading:
    """Lists are known by their first token.

    A portRef counts where it names an instance and stands directly in ``joined``
    of an outermost net of some contents.
    """
    kept: list[bytes] = []
    refs: dict[Key, Ref] = {}
    twice: list[Key] = []
    stack: list[tuple[int, bytes]] = []
    done, net, opened = 0, -1, False
    for token in _TOKEN.finditer(data):
        text = token[0]
        if opened:
            stack.append((token.start() - 1, text.lower()))
            net += text.lower() == b"net"
        opened = text == b"("
        if text != b")" or not stack:
            continue
        start, word = stack.pop()
        begin = data.rindex(b"(", 0, start + 1)
        if word == b"portref" and _joins([above for _, above in stack]):
            key = _key(data[begin : token.end()])
            if key is not None:
                lead = done + len(data[done:begin].rstrip(_SPACE))
                kept.append(data[done:lead])
                twice += [key] if key in refs else []
                refs[key] = Ref(data[begin : token.end()], data[lead:begin], net)
                done = token.end()
    return Reading(b"".join([*kept, data[done:]]), refs, tuple(twice))


def _joins(path: list[bytes]) -> bool:
    """Whether lists with these keywords, outermost first, are a net of a board."""
    inside = b"contents" in path[:-2] and path.count(b"net") == 1
    return inside and path[-2:] == [b"net", b"joined"]


def _key(text: bytes) -> Key | None:
    """(instance, port) of a portRef, each as its tokens in lower case; None without instance."""
    words = [word.lower() for word in _TOKEN.findall(text)]
    if b"instanceref" not in words:
        return None
    at = words.index(b"instanceref")
    return _plain(words[at + 1 : -2]), _plain(words[2 : at - 1])


def _plain(words: list[bytes]) -> str:
    """``id``, or ``id[index]`` for ``(member id index)``."""
    if len(words) >= 5 and words[:2] == [b"(", b"member"]:
        return f"{words[2].decode('utf-8', 'replace')}[{int(words[3])}]"
    return words[0].decode("utf-8", "replace") if words else ""


def _frame(old: Reading, new: Reading) -> Iterator[Finding]:
    if old.frame != new.frame:
        what = "something else than the pins of nets changed"
        yield Finding(BYTES, "unchanged", "file", what)


def _refs(old: Reading, new: Reading) -> Iterator[Finding]:
    """PortRefs that moved are the same; new ones have white space as others have."""
    leads = {ref.lead for ref in old.refs.values()}
    for key, ref in new.refs.items():
        was = old.refs.get(key)
        where = ":".join(key)
        if was is not None and was.text != ref.text:
            yield Finding(BYTES, "unchanged", where, "its portRef is written another way")
        if ref.lead not in leads:
            yield Finding(BYTES, "white space", where, "no other portRef has this white space")
    for key in new.twice:
        yield Finding(PINS, "once", ":".join(key), "it stands in two portRefs")


def _names(netlist: Netlist, spans: EdifSpans, old: Reading) -> dict[int, str]:
    """What the reader calls each net of BEFORE."""
    found: dict[int, str] = {}
    for node, key in zip(netlist.nodes, spans.keys, strict=True):
        if key in old.refs and node.net is not None:
            found.setdefault(old.refs[key].net, node.net)
    return found


def _reader(netlist: Netlist, spans: EdifSpans, old: Reading) -> Iterator[Finding]:
    """The reader must see the same pins on the same nets."""
    names = _names(netlist, spans, old)
    mine = {key: names.get(ref.net) for key, ref in old.refs.items()}
    theirs = {
        key: node.net
        for node, key in zip(netlist.nodes, spans.keys, strict=True)
        if node.net is not None
    }
    if mine != theirs:
        what = "the reader and verify read other pins or nets in BEFORE"
        yield Finding(PINS, "reader", "file", what)


def _seats(netlist: Netlist, spans: EdifSpans, old: Reading, new: Reading) -> list[Seat]:
    names = _names(netlist, spans, old)
    order: dict[str, int] = {}
    made = []
    for node, key in zip(netlist.nodes, spans.keys, strict=True):
        was, is_ = old.refs.get(key), new.refs.get(key)
        seat = Seat(
            part=order.setdefault(node.ref, len(order)),
            ref=node.ref,
            number=node.pin,
            name=node.name,
            type="",
            at=(),
            alone=True,
            torn=False,
            was=names.get(was.net) if was else None,
            is_=names.get(is_.net, "a net that no pin had") if is_ else None,
        )
        made.append(seat)
    return made
