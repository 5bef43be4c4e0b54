"""[board]: which copper layers run which way."""

from __future__ import annotations

from renet.errors import RulesError
from renet.model import Board
from renet.nearest import quoted, suggestion
from renet.rules import Rules, line_of


def directions(board: Board, rules: Rules) -> dict[int, str]:
    """``h`` or ``v`` for every layer id that ``[board]`` names, in the order of layers."""
    found: dict[int, str] = {}
    for way, words in (("h", rules.horizontal), ("v", rules.vertical)):
        for word in words:
            layer = _layer(board, word, rules.board_line)
            if found.setdefault(layer, way) != way:
                raise RulesError(
                    f"layer {quoted(board.layers[layer].name)} is both horizontal and vertical",
                    "give it one direction",
                    line=_line(word, rules.board_line),
                )
    return dict(sorted(found.items()))


def _layer(board: Board, word: int | str, line: int) -> int:
    """1 is the front layer and -1 the back one; else the name in the file."""
    count = len(board.layers)
    if isinstance(word, int):
        if not 1 <= abs(word) <= count:
            raise RulesError(
                f"the board has no copper layer {word}",
                f"it has {count}: 1 is the front, {count} or -1 the back",
                line=line,
            )
        return word - 1 if word > 0 else count + word
    names = [layer.name for layer in board.layers]
    if word not in names:
        raise RulesError(
            f"the board has no copper layer {quoted(word)}",
            suggestion(word, names, f"its copper layers are {', '.join(names)}"),
            line=_line(word, line),
        )
    return names.index(word)


def _line(word: int | str, line: int) -> int:
    return line_of(word, line) if isinstance(word, str) else line
