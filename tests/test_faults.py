"""Whatever fails while files are written: outputs are whole or absent, inputs as they were.

Every call to the system that the writing makes is made to fail in turn, in
every command that writes; in a child process, the process is killed there.
"""

from __future__ import annotations

import importlib
import json
import os
import re
import shutil
import signal
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from cases.buoys import MIDDLE, NETLIST_E
from cases.faults import Faults
from conftest import CORPUS

from renet import files
from renet.cli import run

PART = re.compile(r"(?:.*/)?\.renet-\d+-.*\.part\Z")
RULES = b'[[pool]]\npart = "U3"\npins = ["2", "3"]\n'
SWAPS = b"""(renet_swaps (version 1)
  (source (kind board) (file "buoy.kicad_pcb") (sha256 "0"))
  (copper keep))
"""
MEMBER = b'[[board]]\nname = "%s"\nfile = "%s.kicad_pcb"\n'
MATE = b'[[mate]]\na = "main:J7"\nb = "probe:J7"\nmap = "straight"\n'
SET = MEMBER % (b"main", b"main") + MEMBER % (b"probe", b"probe") + MATE
BOARD = MIDDLE.replace(b"(44 ", b'(41 "Cmts.User" user)\n    (44 ')
SUMMARY = "out/batch.json"
COUNTED = "faults injected"
"""The name under which ``scripts/fuzz --report`` finds how many."""
BATCH = ["--iterations", "20", "-q", "-j", "1", "--out", "out"]
COMMANDS: dict[str, list[str]] = {
    "untangle": ["untangle", "b.kicad_pcb", "--netlist", "b.net", "-q", "--out", "out"],
    "apply": ["apply", "b.swaps", "b.kicad_pcb", "--carry-over", "-q", "-o", "out/b.kicad_pcb",
              "--hand-over", "out/hand"],
    "apply to a netlist": ["apply", "b.swaps", "b.net", "--carry-over", "-q", "-o", "out/b.net"],
    "inspect": ["inspect", "b.kicad_pcb", "-q", "--svg", "out/b.svg"],
    "rules": ["rules", "b.kicad_pcb", "-q", "-o", "out/b.rules.toml"],
    "channels": ["channels", "b.kicad_pcb", "-q", "--svg", "out/b.svg", "--sketch",
                 "out/s.kicad_pcb"],
    "export": ["export", "b.kicad_pcb", "--ipc356", "-q", "-o", "out/b.d356"],
    "batch": ["batch", "b.kicad_pcb", *BATCH],
    "batch of a set": ["batch", "set.toml", *BATCH],
    "apply to a set": ["apply", "made/set/set.set.json", "set.toml", "-q", "-o", "out"],
    "demo": ["demo", "out", "-q"],
}  # fmt: skip
SLOW = (
    ("renet.pipeline", "untangle"), ("renet.pipeline", "survey"), ("renet.results", "outputs_of"),
    ("renet.pipeline", "apply_changes"), ("renet.channels.job", "outlook"),
    ("renet.draft", "gather"), ("renet.export", "exported"), ("renet.batch.run", "work_any"),
    ("renet.sets.run", "apply_set"), ("renet.batch.work", "program_digest"),
)  # fmt: skip


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The files of a small set, and what a batch makes of it."""
    folder = tmp_path_factory.mktemp("set")
    files_of = {"main.kicad_pcb": MIDDLE, "probe.kicad_pcb": MIDDLE, "main.rules.toml": RULES,
                "set.toml": SET}  # fmt: skip
    for name, data in files_of.items():
        (folder / name).write_bytes(data)
    words = [*BATCH[:-1], str(folder / "made")]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("renet.batch.run.run_all", one_by_one)
        assert run(["batch", str(folder / "set.toml"), *words]) == 0
    return tree(folder)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, made: dict[str, bytes]) -> Path:
    for name, data in {
        "b.kicad_pcb": BOARD, "b.net": NETLIST_E, "b.rules.toml": RULES, "b.swaps": SWAPS, **made,
    }.items():  # fmt: skip
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(data)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    monkeypatch.setattr("renet.batch.run.run_all", one_by_one)
    return tmp_path


def one_by_one(orders: list[Any], work: Callable[[Any], Any], workers: int) -> Iterator[Any]:
    """The work of a batch in this process, where faults can be injected."""
    return ((index, work(order)) for index, order in enumerate(orders))


def tree(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


class Answers:
    """What the slow functions said the first time, in the order of their calls."""

    def __init__(self) -> None:
        self.said: dict[tuple[str, int], Any] = {}
        self.calls: Counter[str] = Counter()

    def patched(self, patch: pytest.MonkeyPatch) -> None:
        """Only what is written is tested here; what it says is the same in every run."""
        self.calls.clear()
        for module, name in SLOW:
            real = getattr(importlib.import_module(module), name)
            patch.setattr(f"{module}.{name}", self._remembering(f"{module}.{name}", real))

    def _remembering(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **named: Any) -> Any:
            self.calls[name] += 1
            key = (name, self.calls[name])
            if key not in self.said:
                self.said[key] = real(*args, **named)
            return self.said[key]

        return call


def runs(command: str, folder: Path, answers: Answers, faults: Faults | None) -> int:
    """Run a command, with faults, in a folder as it was; its exit code."""
    with pytest.MonkeyPatch.context() as patch:
        answers.patched(patch)
        patch.setattr(os, "fsync", lambda handle: None)  # that the disk keeps it is not tested here
        if faults:
            for name in Faults.CALLS:
                patch.setattr(os, name, faults.around(name, getattr(os, name)))
        return run(COMMANDS[command])


def groups(whole: dict[str, bytes]) -> list[set[str]]:
    """Files that were written by one call: batches and the demo make two, the others one."""
    two = SUMMARY in whole or any("/untangled/" in name for name in whole)
    below = {name for name in whole if two and name.count("/") > 1}
    return [found for found in (below, whole.keys() - below) if found]


@pytest.mark.parametrize(
    ("command", "old"),
    [(command, False) for command in COMMANDS]
    + [(command, True) for command in ("untangle", "export", "apply to a set", "batch")],
)
def test_a_fault_at_every_call(
    folder: Path, command: str, old: bool, record_property: Callable[[str, object], None]
) -> None:
    """Fails once or from then on, at every call to the system: all files of one writing or none."""
    answers = Answers()
    before = tree(folder)
    assert runs(command, folder, answers, None) == 0
    whole = tree(folder)
    fresh = {name: data for name, data in whole.items() if name not in before}
    start = {name: b"old" for name in fresh if old and name != "out/b.rules.toml"}
    hit = 0
    for faults in Faults.all():
        shutil.rmtree("out", ignore_errors=True)
        for name, data in start.items():
            Path(name).parent.mkdir(parents=True, exist_ok=True)
            Path(name).write_bytes(data)
        code = runs(command, folder, answers, faults)
        found = tree(folder)
        left = {name for name in found if PART.match(name)}
        assert not left or faults.word == "unlink" or faults.stays, faults
        judge(before | start, {n: d for n, d in found.items() if n not in left}, whole, faults)
        assert code in (0, 1, 2, 130), faults
        assert code or found.keys() - left == whole.keys(), faults
        hit += faults.hit
    record_property(COUNTED, hit)
    assert hit >= 25


def judge(
    before: dict[str, bytes], found: dict[str, bytes], whole: dict[str, bytes], faults: Faults
) -> None:
    """Inputs as they were; of every writing all files are new, or all as before.

    The summary of a batch tells of the fault, so it need not be that of a run without one.
    """
    for names in groups({n: d for n, d in whole.items() if n.startswith("out/")}):
        now = {name: found.get(name) for name in names}
        was = {name: before.get(name) for name in names}
        if SUMMARY in names:
            assert now == was or json.loads(found[SUMMARY])["schema"], faults
            assert now == was or all(now[name] not in (None, was[name]) for name in names), faults
        else:
            assert now in (was, {name: whole[name] for name in names}), faults
    for name, data in before.items():
        assert found[name] == data or name.startswith("out/"), faults


def dying(real: Callable[..., Any], calls: Iterator[int], last: int) -> Callable[..., Any]:
    """A call to the system; the one with the last number kills the process before it is made."""

    def call(*args: Any, **named: Any) -> Any:
        if next(calls) == last:
            os.kill(os.getpid(), signal.SIGKILL)
        return real(*args, **named)

    return call


def killed(out: Path, last: int) -> bool:
    """Three files written in a process that dies at its call with this number; whether it did."""
    child = os.fork()
    if not child:
        calls = count(1)
        for name in Faults.CALLS:
            setattr(os, name, dying(getattr(os, name), calls, last))
        files.write_all([files.Output(out / name, name.encode() * 9999) for name in "abc"])
        os._exit(0)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


@pytest.mark.parametrize("old", [False, True], ids=["new", "over old files"])
def test_killed_between_any_two_calls(
    tmp_path: Path, old: bool, record_property: Callable[[str, object], None]
) -> None:
    """kill -9 at every call: whole files, and parts with a name that tells what they are."""
    for number in range(1, 100):
        out = tmp_path / str(number)
        if old:
            out.mkdir()
            for name in "abc":
                (out / name).write_bytes(b"old")
        died = killed(out, number)
        found = {path.name: path.read_bytes() for path in out.rglob("*")} if out.exists() else {}
        for name, data in found.items():
            assert PART.match(name) or data in (name.encode() * 9999, b"old")
        assert not old or found.keys() >= set("abc")
        if not died:
            assert found == {name: name.encode() * 9999 for name in "abc"}
            break
        files.sweep(out)
        assert not any(PART.match(path.name) for path in out.rglob("*"))
    record_property(COUNTED, number - 1)
    assert 15 <= number < 99


def test_two_runs_into_one_folder_at_once(tmp_path: Path) -> None:
    """Both finish, and every file is the whole file of one of them (here: of both)."""
    demo = CORPUS / "demo"
    program = [sys.executable, "-c", "from renet.cli import main; main()"]
    words = ["inspect", str(demo / "buoy.kicad_pcb"), "-q", "--svg", str(tmp_path / "out/b.svg")]
    runs = [subprocess.Popen([*program, *words]) for _ in range(2)]
    assert [run.wait() for run in runs] == [0, 0]
    (only,) = tree(tmp_path).items()
    assert only[0] == "out/b.svg"
    assert only[1].rstrip().endswith(b"</svg>")


@pytest.mark.parametrize("command", ["untangle", "apply"])
def test_a_lock_file_beside_the_board_is_told(
    folder: Path, command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(COMMANDS[command]) == 0
    assert capsys.readouterr().err == ""
    (folder / "~b.kicad_pcb.lck").write_bytes(b"{}")
    assert run(COMMANDS[command]) == 0
    assert "b.kicad_pcb: warning: ~b.kicad_pcb.lck beside it" in capsys.readouterr().err
