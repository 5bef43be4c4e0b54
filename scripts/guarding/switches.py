"""Every guard of some modules behind a switch, put there while the module is loaded.

A guard is a statement that refuses: a ``raise``, a ``yield`` or an ``append`` of
a finding, findings added to a list, or a ``return`` of what is wrong.  Nothing
on disk changes: the source is read, its syntax tree rewritten, and that is run.
"""

from __future__ import annotations

import ast
import importlib.abc
import importlib.machinery
import importlib.util
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from types import CodeType, ModuleType
from typing import NamedTuple

SWITCH = "_guard_stands"
LETS = "_guard_lets"
FINDS = ("Finding", "Violation", "_Slip", "tuple[PinName, str]")
TOLD = ("fault", "mismatch", "why")
FAULT = "str", "tuple[str, str] | None", "_Slip | None", "Finding | None"


class Guard(NamedTuple):
    """Where a guard stands, and its first line."""

    module: str
    line: int
    text: str

    def __str__(self) -> str:
        return f"{self.module.removeprefix('renet.')}:{self.line}"


class Board:
    """The switches: which guard is off, and which ones have acted in which test."""

    def __init__(self) -> None:
        self.guards: list[Guard] = []
        self.off = -1
        self.acted = False
        self.test = ""
        self.seen: dict[int, dict[str, None]] = {}

    def stands(self, number: int) -> bool:
        """Called in front of every guard that is about to act: whether it may."""
        self.seen.setdefault(number, {})[self.test] = None
        self.acted = self.acted or number == self.off
        return number != self.off

    def lets(self, number: int, found: Iterable[object]) -> list[object]:
        """What a check found, nothing with its guard off; a check that is silent does not act."""
        told = list(found)
        return told if not told or self.stands(number) else []


class _Rewriter(ast.NodeTransformer):
    """Puts ``if stands(n):`` in front of every guard."""

    def __init__(self, module: str, lines: Sequence[str], board: Board) -> None:
        self._module, self._lines, self._board = module, lines, board
        self._returns: list[str] = []
        self._names: list[str] = []

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        self._returns.append(ast.unparse(node.returns) if node.returns else "")
        self._names.append(node.name)
        self.generic_visit(node)
        self._names.pop()
        self._returns.pop()
        return node

    def visit_Raise(self, node: ast.Raise) -> ast.AST:
        return self._switched(node) if node.exc is not None else node

    def visit_Expr(self, node: ast.Expr) -> ast.AST:
        value = node.value
        returns = self._returns[-1] if self._returns else ""
        if isinstance(value, ast.Yield) and any(word in returns for word in FINDS):
            return self._switched(node)
        if isinstance(value, ast.YieldFrom) and any(word in returns for word in FINDS):
            value.value = self._let(node, value.value)
            return node
        if isinstance(value, ast.Call) and isinstance(value.func, ast.Attribute):
            to = ast.unparse(value.func.value)
            if value.func.attr == "append" and to.endswith(("findings", "violations", "faults")):
                return self._switched(node)
        return node

    def visit_AugAssign(self, node: ast.AugAssign) -> ast.AST:
        if ast.unparse(node.target).endswith("findings"):
            node.value = self._let(node, node.value)
        return node

    def visit_Return(self, node: ast.Return) -> ast.AST:
        returns = self._returns[-1] if self._returns else ""
        nothing = None if "None" in returns else ""
        said = node.value
        literal = isinstance(said, ast.JoinedStr | ast.Tuple) or (
            isinstance(said, ast.Constant) and said.value not in (None, "")
        )
        if returns not in FAULT or not literal or not self._is_fault(said):
            return node
        if returns == "str" and not any(word in self._names[-1] for word in TOLD):
            return node
        test = self._asked(node)
        made = ast.IfExp(test=test, body=said, orelse=ast.Constant(nothing))
        return ast.copy_location(ast.Return(ast.copy_location(made, node)), node)

    def _is_fault(self, said: ast.expr | None) -> bool:
        """A sentence, not a name: faults are told in several words."""
        return said is not None and ast.unparse(said).count(" ") >= 3

    def _switched(self, node: ast.stmt) -> ast.AST:
        return ast.copy_location(ast.If(test=self._asked(node), body=[node], orelse=[]), node)

    def _asked(self, node: ast.stmt) -> ast.expr:
        return self._call(SWITCH, node)

    def _let(self, node: ast.stmt, found: ast.expr) -> ast.expr:
        return self._call(LETS, node, found)

    def _call(self, name: str, node: ast.stmt, *more: ast.expr) -> ast.expr:
        number = ast.Constant(len(self._board.guards))
        text = self._lines[node.lineno - 1].strip()
        self._board.guards.append(Guard(self._module, node.lineno, text))
        return ast.copy_location(ast.Call(ast.Name(name, ast.Load()), [number, *more], []), node)


class _Loader(importlib.machinery.SourceFileLoader):
    """Loads one module with its guards behind switches."""

    def __init__(self, name: str, path: str, board: Board) -> None:
        super().__init__(name, path)
        self._board = board

    def get_code(self, fullname: str) -> CodeType:
        text = Path(self.path).read_text()
        tree = _Rewriter(fullname, text.split("\n"), self._board).visit(ast.parse(text))
        return compile(ast.fix_missing_locations(tree), self.path, "exec", dont_inherit=True)

    def exec_module(self, module: ModuleType) -> None:
        vars(module).update({SWITCH: self._board.stands, LETS: self._board.lets})
        super().exec_module(module)


class Finder(importlib.abc.MetaPathFinder):
    """Finds the modules that are to be switched; stands in front of the usual finders."""

    def __init__(self, modules: Sequence[str], board: Board) -> None:
        self._modules, self._board = modules, board

    def find_spec(self, fullname: str, path: object, target: object = None) -> object:
        if not any(fullname == m or fullname.startswith(f"{m}.") for m in self._modules):
            return None
        spec = importlib.machinery.PathFinder.find_spec(fullname, path)  # type: ignore[arg-type]
        if spec is None or spec.origin is None:
            return None
        loader = _Loader(fullname, spec.origin, self._board)
        inside = spec.submodule_search_locations
        return importlib.util.spec_from_file_location(
            fullname, spec.origin, loader=loader, submodule_search_locations=inside
        )


def installed(modules: Sequence[str]) -> Board:
    """The board of switches; modules loaded from now on have them."""
    board = Board()
    sys.meta_path.insert(0, Finder(modules, board))
    return board
