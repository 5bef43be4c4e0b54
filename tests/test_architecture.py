"""The invariants of DEVELOPERS.md, read from the imports."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from conftest import ROOT

PACKAGE = ROOT / "renet"
MODULES = sorted(PACKAGE.rglob("*.py"))


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imported(path: Path) -> set[str]:
    """Every module that a file imports, wherever in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            found.update(f"{node.module}.{alias.name}" for alias in node.names)
    return found


IMPORTS = {name_of(path): imported(path) for path in MODULES}


def under(module: str, *homes: str) -> bool:
    return any(module == home or module.startswith(home + ".") for home in homes)


def reached(home: str) -> Iterator[tuple[str, str]]:
    for module, found in IMPORTS.items():
        if under(module, home):
            yield from ((module, target) for target in found if target.startswith("renet."))


THINKERS = ("renet.engine", "renet.tangle", "renet.freedom", "renet.changes", "renet.channels")
THINKERS += ("renet.orthogonal",)
FORMATS = ("renet.read", "renet.write", "renet.write_netlist", "renet.syntax", "renet.splice")
FORMATS += ("renet.write_ipc356", "renet.write_edif", "renet.export")
FORMATS += ("renet.files", "renet.inputs", "renet.gate", "renet.deliver", "renet.pipeline")


# Stage runners and the writer of sketches serve those who think, who never see a file.
RUNNERS = ("renet.channels.job", "renet.channels.sketch", "renet.orthogonal.job")


@pytest.mark.parametrize("home", THINKERS)
def test_those_who_think_never_see_a_file(home: str) -> None:
    bad = [(m, t) for m, t in reached(home) if m not in RUNNERS and under(t, *FORMATS)]
    assert bad == []


def test_only_the_command_line_uses_click_or_prints() -> None:
    for path in MODULES:
        if path.name.startswith("cli"):
            continue
        assert not any(under(target, "click") for target in imported(path)), path
        calls = [
            node.func.id
            for node in ast.walk(ast.parse(path.read_text("utf-8")))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        ]
        assert not {"print", "input", "exit"} & set(calls), path


def test_only_files_opens_files() -> None:
    for path in MODULES:
        if path.name in ("files.py", "example.py"):
            continue
        names = {
            node.func.attr if isinstance(node.func, ast.Attribute) else node.func.id
            for node in ast.walk(ast.parse(path.read_text("utf-8")))
            if isinstance(node, ast.Call) and isinstance(node.func, (ast.Attribute, ast.Name))
        }
        touching = {"open", "read_bytes", "read_text", "write_bytes", "write_text"}
        assert not touching & names, path


def test_the_second_opinion_stands_alone() -> None:
    homes = ("renet.verify", "renet.syntax", "renet.scan", "renet.read", "renet.rules")
    homes += ("renet.geometry", "renet.model", "renet.changes", "renet.errors")
    bad = [(m, t) for m, t in reached("renet.verify") if not under(t, *homes)]
    assert bad == []


def test_syntax_knows_no_keyword_and_splice_no_tree() -> None:
    for module in ("renet.syntax", "renet.scan", "renet.bulk", "renet.splice"):
        assert not any(under(t, "renet.read") for t in IMPORTS[module]), module
    source = (PACKAGE / "syntax.py").read_text("utf-8") + (PACKAGE / "scan.py").read_text("utf-8")
    for word in ("kicad", "footprint", "segment", "pintype", "net_name"):
        assert word not in source
    assert not any(under(target, "renet") for target in IMPORTS["renet.splice"])


def test_start_up_imports_nothing_heavy() -> None:
    """What ``renet --help`` loads: heavy libraries belong to the commands that need them."""
    seen: set[str] = set()
    todo = ["renet.cli"]
    while todo:
        module = todo.pop()
        if module in seen or module not in IMPORTS:
            continue
        seen.add(module)
        todo += top_level(module)
    heavy = {
        target for module in seen for target in top_level(module) if not target.startswith("renet")
    }
    assert not {name.split(".")[0] for name in heavy} & {
        "numpy",
        "scipy",
        "networkx",
        "sexpdata",
        "jinja2",
    }


def top_level(module: str) -> list[str]:
    """What a module imports as it is loaded, type-checking blocks aside."""
    path = PACKAGE.parent / Path(*module.split("."))
    path = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    found: list[str] = []
    for node in ast.parse(path.read_text("utf-8")).body:
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.append(node.module)
            found += [f"{node.module}.{alias.name}" for alias in node.names]
    return found
