"""Whatever fails while files are written: outputs are whole or absent, inputs as they were.

Every call to the system that the writing makes is made to fail in turn, in
every command that writes; in a child process, the process is killed there.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from cases.buoys import MIDDLE, NETLIST_E
from conftest import CORPUS

from renet import files
from renet.cli import run

CALLS = ((os, "fsync"), (Path, "replace"), (Path, "open"), (Path, "mkdir"), (os, "open"))
FAULTS = {
    "disk full": OSError(28, "No space left on device"),
    "denied": PermissionError(13, "Permission denied"),
    "folder gone": FileNotFoundError(2, "No such file or directory"),
    "interrupted": KeyboardInterrupt(),
}
PART = re.compile(r"\.renet-\d+-.*\.part\Z")
RULES = b'[[pool]]\npart = "U3"\npins = ["2", "3"]\n'
SWAPS = b"""(renet_swaps (version 1)
  (source (kind board) (file "buoy.kicad_pcb") (sha256 "0"))
  (copper keep))
"""
BOARD = MIDDLE.replace(b"(44 ", b'(41 "Cmts.User" user)\n    (44 ')
COMMANDS: dict[str, list[str]] = {
    "untangle": ["untangle", "b.kicad_pcb", "--netlist", "b.net", "-q", "--out", "out"],
    "apply": ["apply", "b.swaps", "b.kicad_pcb", "--carry-over", "-q", "-o", "out/b.kicad_pcb",
              "--hand-over", "out/hand"],
    "inspect": ["inspect", "b.kicad_pcb", "-q", "--svg", "out/b.svg"],
    "rules": ["rules", "b.kicad_pcb", "-q", "-o", "out/b.rules.toml"],
    "channels": ["channels", "b.kicad_pcb", "-q", "--svg", "out/b.svg", "--sketch",
                 "out/s.kicad_pcb"],
}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name, data in {
        "b.kicad_pcb": BOARD, "b.net": NETLIST_E, "b.rules.toml": RULES, "b.swaps": SWAPS,
    }.items():  # fmt: skip
        (tmp_path / name).write_bytes(data)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    return tmp_path


def tree(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


class Nth:
    """Counts calls of one name; the one with this number fails."""

    def __init__(self, real: Callable[..., Any], number: int, fault: BaseException) -> None:
        self.real, self.number, self.fault, self.calls = real, number, fault, 0

    def __get__(self, owner: Any, kind: Any = None) -> Callable[..., Any]:
        return lambda *args, **named: self(owner, *args, **named)

    def __call__(self, *args: Any, **named: Any) -> Any:
        if ".dist-info" in str(args[0]):  # the version of the program: none of the user's files
            return self.real(*args, **named)
        self.calls += 1
        if self.calls == self.number:
            raise self.fault
        return self.real(*args, **named)


def injected(words: list[str], folder: Path, fault: BaseException) -> Iterator[tuple[str, int]]:
    """Run a command again and again, each time with one more call failing; name, exit code."""
    for owner, name in CALLS:
        for number in range(1, 100):
            shutil.rmtree(folder / "out", ignore_errors=True)
            nth = Nth(getattr(owner, name), number, fault)
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(owner, name, nth)
                code = run(words)
            if nth.calls < number:
                break
            yield f"{name} {number}", code


@pytest.mark.parametrize("fault", FAULTS.values(), ids=list(FAULTS))
@pytest.mark.parametrize("command", COMMANDS)
def test_a_fault_at_every_call(folder: Path, command: str, fault: BaseException) -> None:
    before = tree(folder)
    assert run(COMMANDS[command]) == 0
    whole = tree(folder)
    count = 0
    for where, code in injected(COMMANDS[command], folder, fault):
        count += 1
        found = tree(folder)
        assert all(found[name] == before[name] for name in before), where
        assert all(found[name] == whole[name] for name in found), where
        assert code in (0, 2, 130), where
        assert code or found == whole, where
    assert count >= 6


KILLED = """
import os, sys
from pathlib import Path
from renet import files
left = int(sys.argv[1])
def dying(real):
    def call(*args, **named):
        global left
        left -= 1
        if left == 0:
            os.kill(os.getpid(), 9)
        return real(*args, **named)
    return call
for owner, name in ((os, "fsync"), (Path, "replace"), (Path, "open"), (Path, "mkdir"),
                    (Path, "unlink")):
    setattr(owner, name, dying(getattr(owner, name)))
files.write_all([files.Output(Path(sys.argv[2]) / n, n.encode() * 9999) for n in "abc"])
"""


def test_killed_between_any_two_calls(tmp_path: Path) -> None:
    """kill -9 at every call: whole files, and parts with a name that tells what they are."""
    killed = 0
    for number in range(1, 40):
        out = tmp_path / str(number)
        done = subprocess.run([sys.executable, "-c", KILLED, str(number), str(out)])
        found = {path.name: path.read_bytes() for path in out.rglob("*")} if out.exists() else {}
        for name, data in found.items():
            assert PART.match(name) or data == name.encode() * 9999
        if done.returncode == 0:
            assert sorted(found) == ["a", "b", "c"]
            break
        killed += 1
        files.sweep(out)
        assert not any(PART.match(path.name) for path in out.rglob("*"))
    assert killed >= 10


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
