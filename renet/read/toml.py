"""TOML with the place of every key, table and list entry.

The standard library's parser gives the values and the errors; it keeps no
places, so a second look at the same text finds them.  That second look is told
only texts that the parser has accepted, and need not judge them.

Both are held to bounded work: a first look at the tokens turns away nesting and
dotted keys deeper than any file for people to read.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from typing import Any, NamedTuple

from renet.errors import RulesError

Path = tuple[str | int, ...]

MAX_BYTES = 1 << 20
MAX_DEPTH = 16
MAX_DOTS = 16

_TOKEN = re.compile(
    r"(?P<skip>[ \t]+|\#[^\n]*)"
    r'|(?P<string>"""(?:[^"\\]|\\(?s:.)|"{1,2}(?!"))*+""""{0,2}'
    r"|'''(?:[^']|'{1,2}(?!'))*+''''{0,2}"
    r'|"(?:[^"\\\n]|\\.)*+"(?!")'
    r"|'[^'\n]*+'(?!'))"
    r"|(?P<mark>[\n\[\]{}=,.])"
    r"|(?P<bare>[^\s\"'#\[\]{}=,.]+)"
)
_WHERE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


class Place(NamedTuple):
    """Line and column (in bytes) of something, both from 1."""

    line: int
    column: int


class Document(NamedTuple):
    """The values of a TOML text, and where each of them stands.

    ``places`` is keyed by the path of keys and list indices down from the top.
    """

    values: dict[str, Any]
    places: dict[Path, Place]

    def place(self, path: Path) -> Place:
        """Where ``path`` stands, or the nearest thing above it that stands somewhere."""
        for end in range(len(path), 0, -1):
            if path[:end] in self.places:
                return self.places[path[:end]]
        return Place(1, 1)


class _Token(NamedTuple):
    kind: str
    text: str
    place: Place


def parse(data: bytes) -> Document:
    """Read TOML; raise RulesError with line and column where it is none."""
    text = _decode(data)
    _check_bounds(text)
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _explained(str(error), text) from None
    except ValueError:  # the only other one: an integer longer than Python converts
        raise RulesError("a number has too many digits", "write a shorter number") from None
    return Document(values, _Finder(text).places)


def _decode(data: bytes) -> str:
    if len(data) > MAX_BYTES:
        raise RulesError(
            f"larger than {MAX_BYTES >> 20} MiB", "this cannot be a file that a person wrote"
        )
    data = data.removeprefix(b"\xef\xbb\xbf")
    try:
        return data.decode().replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        column = error.start - data.rfind(b"\n", 0, error.start)
        raise RulesError(
            "not UTF-8 text", "save the file as UTF-8", line=line, column=column
        ) from None


def _tokens(text: str) -> Iterator[_Token]:
    """Tokens but blanks and comments, up to the first that TOML does not know."""
    line, column, at = 1, 1, 0
    while match := _TOKEN.match(text, at):
        kind, piece = str(match.lastgroup), match.group()
        if kind != "skip":
            yield _Token(kind, piece, Place(line, column))
        at = match.end()
        if "\n" in piece:
            line += piece.count("\n")
            column = 1
        column += len(piece[piece.rfind("\n") + 1 :].encode())


def _check_bounds(text: str) -> None:
    depth = dots = 0
    for token in _tokens(text):
        if token.kind != "mark":
            continue
        depth = max(0, depth + (token.text in "[{") - (token.text in "]}"))
        dots = dots + 1 if token.text == "." else 0
        if token.text != "\n" and (depth > MAX_DEPTH or dots > MAX_DOTS):
            raise RulesError(
                "nested too deep", "no section has this shape", **token.place._asdict()
            )


def _explained(message: str, text: str) -> RulesError:
    where = _WHERE.search(message)
    what = f"not TOML: {message[: where.start()] if where else message}"
    lines = text.split("\n")
    if where is None:
        return RulesError(what)
    if where.group(1) is None:
        last = len(lines) - (lines[-1] == "" and len(lines) > 1)
        return RulesError(f"{what} before the end of the file", line=last)
    line, column = int(where.group(1)), int(where.group(2))
    before = lines[line - 1][: column - 1] if line <= len(lines) else ""
    return RulesError(what, line=line, column=len(before.encode()) + 1)


class _Finder:
    """Walks the tokens of a sound TOML text once and notes where things stand."""

    def __init__(self, text: str) -> None:
        self._tokens = list(_tokens(text))
        self._at = 0
        self._tables: dict[Path, int] = {}  # arrays of tables: how many so far
        self.places: dict[Path, Place] = {}
        base: Path = ()
        while self._skip_newlines():
            if self._peek() == "[":
                base = self._header()
            else:
                self._value(self._key(base, "="))

    def _peek(self) -> str:
        return self._tokens[self._at].text if self._at < len(self._tokens) else ""

    def _skip_newlines(self) -> bool:
        while self._peek() == "\n":
            self._at += 1
        return self._at < len(self._tokens)

    def _header(self) -> Path:
        place = self._tokens[self._at].place
        self._at += 1
        several = self._peek() == "["
        self._at += several
        path = self._key((), "]", table=True)
        self._at += several
        if several:
            self._tables[path] = self._tables.get(path, 0) + 1
        if path in self._tables:
            path = (*path, self._tables[path] - 1)
        self.places[path] = place
        return path

    def _key(self, base: Path, end: str, table: bool = False) -> Path:
        """A key, dotted or not, and the ``end`` behind it; ``table``: through arrays of tables."""
        path = base
        while self._peek() != end:
            token = self._tokens[self._at]
            self._at += 1
            if token.kind == "mark":
                continue
            if table and path in self._tables:
                path = (*path, self._tables[path] - 1)
            path = (*path, _unquoted(token))
            self.places.setdefault(path, token.place)
        self._at += 1
        return path

    def _value(self, path: Path) -> None:
        """A value and all values inside it, without recursion."""
        frames: list[tuple[Path, list[int]]] = []  # lists count their entries, tables have no count
        while True:
            if frames:
                self._skip_newlines()
            opener = self._peek()
            self.places.setdefault(path, self._tokens[self._at].place)
            if opener in ("[", "{"):
                frames.append((path, [0] if opener == "[" else []))
                self._at += 1
            else:
                self._scalar()
            self._close(frames)
            if not frames:
                return
            path = self._entry(*frames[-1])

    def _scalar(self) -> None:
        while self._at < len(self._tokens) and self._peek() not in ("\n", ",", "]", "}"):
            self._at += 1

    def _close(self, frames: list[tuple[Path, list[int]]]) -> None:
        while frames:
            self._skip_newlines()
            if self._peek() in ("]", "}"):
                frames.pop()
            elif self._peek() != ",":
                return
            self._at += 1

    def _entry(self, path: Path, count: list[int]) -> Path:
        if not count:
            return self._key(path, "=")
        count[0] += 1
        return (*path, count[0] - 1)


def _unquoted(token: _Token) -> str:
    if token.kind == "bare":
        return token.text
    return str(tomllib.loads(f"v = {token.text}")["v"])
