"""The invariants of DEVELOPERS.md, read from the imports."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Sequence
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


RUNS = {"eval", "exec", "compile", "__import__"}
REACHES = ("socket", "ssl", "urllib.request", "http", "ftplib", "smtplib", "subprocess", "pickle",
           "marshal", "shelve", "runpy", "ctypes", "webbrowser")  # fmt: skip


def test_nothing_in_a_file_is_run_or_fetched() -> None:
    """Only a batch reaches other processes and the cluster it was told of."""
    bad = [
        (module, target)
        for module, targets in IMPORTS.items()
        for target in targets
        if under(target, *REACHES) and not under(module, "renet.batch.cluster", "renet.batch.crew")
    ]
    called = [
        (name_of(path), node.func.id)
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    ]
    assert bad == []
    assert [one for one in called if one[1] in RUNS] == []
    assert any(under(target, "socket") for target in IMPORTS["renet.batch.cluster"])


def test_the_second_opinion_stands_alone() -> None:
    homes = ("renet.verify", "renet.syntax", "renet.scan", "renet.read", "renet.rules")
    homes += ("renet.geometry", "renet.model", "renet.changes", "renet.errors")
    bad = [(m, t) for m, t in reached("renet.verify") if not under(t, *homes)]
    assert bad == []


def test_syntax_knows_no_keyword_and_splice_no_tree() -> None:
    below = ("syntax", "family", "scan", "bulk", "compiled", "decimals", "kernel")
    for module in (*below, "splice"):
        assert not any(under(t, "renet.read") for t in IMPORTS[f"renet.{module}"]), module
    names = (*(f"{module}.py" for module in below), "_kernel.c")
    source = "".join((PACKAGE / name).read_text("utf-8") for name in names)
    for word in ("kicad", "footprint", "segment", "pintype", "net_name"):
        assert word not in source
    assert not any(under(target, "renet") for target in IMPORTS["renet.splice"])


def test_start_up_imports_nothing_heavy() -> None:
    """What ``renet --help`` loads: heavy libraries belong to the commands that need them."""
    heavy = {"numpy", "numba", "scipy", "networkx", "sexpdata", "jinja2"}
    heavy |= {"importlib"}  # importlib.metadata: mail and archives, a quarter of it all
    assert not loaded(["renet.cli"]) & heavy


def test_the_main_job_loads_no_library_of_the_channel_plan() -> None:
    """numba, scipy and networkx cost more start-up than all else, and untangling needs none."""
    tree = ast.parse((PACKAGE / "cli.py").read_text("utf-8"))
    [command] = [n for n in tree.body if isinstance(n, ast.FunctionDef) and n.name == "untangle"]
    own = brought_in(command.body)
    assert "renet.results" in own
    job = loaded([*own, "renet.cli", "renet.pipeline", "renet.batch.work"])
    assert "numpy" in job
    assert not job & {"numba", "scipy", "networkx"}


def loaded(modules: list[str]) -> set[str]:
    """The libraries that come in with some modules of the package, as these are loaded."""
    seen: set[str] = set()
    waiting, found = list(modules), set[str]()
    while waiting:
        module = waiting.pop()
        if module in seen:
            continue
        seen.add(module)
        if module in IMPORTS:
            waiting += [module.rpartition(".")[0], *top_level(module)]
        else:
            found.add(module.split(".")[0])
    return found


def top_level(module: str) -> list[str]:
    """What a module imports as it is loaded, type-checking blocks aside."""
    path = PACKAGE.parent / Path(*module.split("."))
    path = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    return brought_in(ast.parse(path.read_text("utf-8")).body)


def brought_in(body: Sequence[ast.stmt]) -> list[str]:
    """What some statements import, blocks inside them aside."""
    found: list[str] = []
    for node in body:
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.append(node.module)
            found += [f"{node.module}.{alias.name}" for alias in node.names]
    return found
