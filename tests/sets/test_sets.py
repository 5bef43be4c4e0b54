"""Board sets: mates checked first, searched as one, consistent after, all applied or none."""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path

import pytest
from cases.batches import tree
from conftest import CORPUS, ROOT

from renet.changes import ChangeList, Move, Swap
from renet.cli import run
from renet.copper import Mode
from renet.engine import Params
from renet.errors import RulesError
from renet.model import Board
from renet.pipeline import Inputs, Named, Options, apply_changes, untangle
from renet.read.board import read_board
from renet.read.setfile import read_set
from renet.read.swaps import read_swaps
from renet.report.cautions import OF_MOVES

SET = CORPUS / "sonde.toml"
BUOY = CORPUS / "demo" / "buoy.kicad_pcb"
PROBE = CORPUS / "boards" / "probe.kicad_pcb"
TWICE = '[[mate]]\na = "buoy:J7"\nb = "probe:J2"\nmap = "straight"\n\n[[mate]]'
OPTIONS = Options(mode=Mode.KEEP, params=Params(seed=0))


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("set")
    assert run(["batch", str(SET), "--out", str(out), "-q", "-j", "1"]) == 0
    return out / "sonde"


def board(path: Path) -> Board:
    return read_board(path.read_bytes())[0]


def nets_of(found: Board, ref: str) -> dict[str, str | None]:
    """Pin number -> net of one part."""
    return {
        pin.number: found.net_name(pin.net)
        for pin in found.pins
        if found.parts[pin.part].ref == ref
    }


def total(done: Path) -> int:
    record = json.loads((done.parent / "batch.json").read_text())
    return int(record["boards"][0]["after"]["crossings"])


def test_every_mate_is_consistent_after_and_something_moved_in_it(done: Path) -> None:
    j7 = nets_of(board(done / "buoy" / "buoy.kicad_pcb"), "J7")
    j1 = nets_of(board(done / "probe" / "probe.kicad_pcb"), "J1")
    assert {pin: net for pin, net in j7.items() if pin != "1"} == {
        pin: net for pin, net in j1.items() if pin != "1"
    }
    before = nets_of(board(BUOY), "J7")
    assert j7 != before
    assert Counter(j7.values()) == Counter(before.values())
    assert {pin: j7[pin] for pin in ("1", "2", "19", "20")} == {
        pin: before[pin] for pin in ("1", "2", "19", "20")
    }


def test_fewer_crossings_than_one_after_the_other(done: Path) -> None:
    """Against a kept connector, and against one that either board sets for the other."""
    one_after_the_other = [leading(BUOY, "J7", PROBE, "J1"), leading(PROBE, "J1", BUOY, "J7")]
    assert total(done) < min(one_after_the_other)
    assert total(done) < sum(
        untangle(rules_of(path, kept=ref), OPTIONS).tangle.figures.crossings
        for path, ref in ((BUOY, "J7"), (PROBE, "J1"))
    )
    shown = "the buoy first gives {} crossings, the probe first {}, both as one {}".format(
        *one_after_the_other, total(done)
    )
    assert shown in (ROOT / "README.md").read_text("utf-8")


def rules_of(path: Path, data: bytes = b"", kept: str = "") -> Inputs:
    """A board of the set with its rules there; as a follower it takes the connector as it is."""
    rules = (CORPUS / "set" / f"{path.stem}.rules.toml").read_bytes()
    rules += f'\n[[keep]]\npins = ["{kept}:*"]\n'.encode() if kept else b""
    return Inputs(Named(path.name, data or path.read_bytes()), None, Named("rules", rules))


def leading(first: Path, ref: str, second: Path, other: str) -> int:
    """Crossings in total when ``first`` may trade on its connector and ``second`` has to follow."""
    job = untangle(rules_of(first), OPTIONS)
    moves = tuple(
        Move(other, move.pin, "", move.was, move.is_)
        for move in job.changes.moves
        if move.part == ref
    )
    assert moves
    changes = ChangeList((), (Swap(1, moves),))
    follows = apply_changes(changes, Named(second.name, second.read_bytes()), carry_over=True)
    follower = untangle(rules_of(second, follows, other), OPTIONS)
    return job.tangle.figures.crossings + follower.tangle.figures.crossings


def test_apply_takes_all_boards_and_their_netlists(
    done: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "applied"
    assert run(["apply", str(done / "sonde.set.json"), str(SET), "-o", str(out), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["cautions"] == list(OF_MOVES)
    found = tree(out)
    assert found == {
        f"{name}/{name}{suffix}": (done / name / f"{name}{suffix}").read_bytes()
        for name in ("buoy", "probe")
        for suffix in (".kicad_pcb", ".net")
    }
    for name, data in found.items():
        assert data != next(CORPUS.rglob(Path(name).name)).read_bytes()


@pytest.mark.parametrize("suffix", [".kicad_pcb", ".net"])
def test_apply_takes_none_when_one_does_not_fit(
    done: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], suffix: str
) -> None:
    other = tmp_path / f"probe{suffix}"
    other.write_bytes(PROBE.with_suffix(suffix).read_bytes() + b"\n")
    path = changed(tmp_path, f"boards/probe{suffix}", str(other))
    words = ["apply", str(done / "sonde.set.json"), str(path)]
    assert run([*words, "-o", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err
    assert "other content" in said
    assert str(other) in said
    assert not (tmp_path / "out").exists()


def test_apply_takes_none_without_a_netlist_it_was_made_with(
    done: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    alone = tmp_path / "probe.kicad_pcb"
    alone.write_bytes(PROBE.read_bytes())
    path = changed(tmp_path, "boards/probe.kicad_pcb", str(alone))
    path.write_text(re.sub(r'netlist = "[^"]*probe.net"\n', "", path.read_text()))
    words = ["apply", str(done / "sonde.set.json"), str(path), "-o", str(tmp_path / "out")]
    assert run(words) == 2
    assert "made with the netlist probe.net, which is not there" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_no_member_goes_alone(
    done: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one = str(done / "probe" / "probe.swaps")
    for extra in ([], ["--only", "1"], ["--carry-over"]):
        assert run(["apply", one, str(PROBE), "-o", str(tmp_path / "x"), *extra]) == 2
        assert "sonde.set.json" in capsys.readouterr().err
    whole = str(done / "sonde.set.json")
    assert run(["apply", whole, str(SET), "-o", str(tmp_path / "x"), "--only", "1"]) == 2
    assert "together or not at all" in capsys.readouterr().err


def test_swaps_that_span_boards_have_one_number(done: Path) -> None:
    lists = [read_swaps((done / n / f"{n}.swaps").read_bytes()) for n in ("buoy", "probe")]
    spanning = 0
    numbers = [{swap.id: swap for swap in changes.swaps} for changes in lists]
    for number in numbers[0].keys() & numbers[1].keys():
        here = {m.pin: m.is_ for m in numbers[0][number].moves if m.part == "J7"}
        there = {m.pin: m.is_ for m in numbers[1][number].moves if m.part == "J1"}
        assert here == there
        assert here
        spanning += 1
    assert spanning


def changed(tmp_path: Path, old: str, new: str) -> Path:
    """A copy of the corpus set with one thing changed."""
    text = SET.read_text()
    assert old in text
    for name in ("demo/buoy.kicad_pcb", "demo/buoy.net", "boards/probe.kicad_pcb",
                 "boards/probe.net", "set/buoy.rules.toml", "set/probe.rules.toml"):  # fmt: skip
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes((CORPUS / name).read_bytes())
    path = tmp_path / "changed.toml"
    path.write_text(text.replace(old, new))
    return path


@pytest.mark.parametrize(
    ("map", "pairing", "count"),
    [
        ('"mirrored"', lambda n: 21 - n, 17),
        ('"row-swapped"', lambda n: n + 1 if n % 2 else n - 1, 19),
    ],
)
def test_a_wrong_mate_is_reported_pin_by_pin(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], map: str, pairing: object, count: int
) -> None:
    path = changed(tmp_path, 'map = "straight"', f"map = {map}")
    assert run(["batch", str(path), "--out", str(tmp_path / "out"), "-q", "-j", "1"]) == 1
    said = capsys.readouterr().err
    found = re.findall(r"pin (\d+) of buoy:J7 \(([^)]+)\) meets pin (\d+) of probe:J1", said)
    buoy, probe = nets_of(board(BUOY), "J7"), nets_of(board(PROBE), "J1")
    expected = [
        n for n in range(1, 21)
        if (other := probe[str(pairing(n))]) and other != buoy[str(n)]  # type: ignore[operator]
    ]  # fmt: skip
    assert [(int(a), net, int(b)) for a, net, b in found] == [
        (n, buoy[str(n)], pairing(n))
        for n in expected  # type: ignore[operator]
    ]
    assert f"{len(expected)} mated pins disagree" in said
    assert len(expected) == count
    assert not list((tmp_path / "out").rglob("*.swaps"))


def test_a_cable_with_its_own_map(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Only some of the pins are wired: the others stay, on both sides."""
    wired = "{" + ", ".join(f'{n} = "{n}"' for n in range(2, 15)) + "}"
    path = changed(tmp_path, 'map = "straight"', f"map = {wired}")
    out = tmp_path / "out"
    assert run(["batch", str(path), "--out", str(out), "-j", "1"]) == 0
    assert "pin 2 of buoy:J7 (GND) meets pin 2 of probe:J1 (GND)" in capsys.readouterr().out
    j7 = nets_of(board(out / "changed" / "buoy" / "buoy.kicad_pcb"), "J7")
    j1 = nets_of(board(out / "changed" / "probe" / "probe.kicad_pcb"), "J1")
    wired_pins = [str(n) for n in range(2, 15)]
    assert [j7[n] for n in wired_pins] == [j1[n] for n in wired_pins]
    assert [j7[n] for n in wired_pins] != [nets_of(board(BUOY), "J7")[n] for n in wired_pins]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"buoy:J7"', '"bouy:J7"', "names no board of the set"),
        ('"buoy:J7"', '"buoy:J77"', "there are 0 parts"),
        ('"probe:J1"', '"buoy:J1"', "a mate joins two boards"),
        ('map = "straight"', 'map = {1 = "99"}', "has no pin"),
        ('map = "straight"', 'map = {1 = "2", 2 = "2"}', "meets two pins"),
        ('name = "probe"', 'name = "buoy"', "two boards are called"),
        ('name = "probe"', 'name = "../x"', "is no name for a board"),
        ("[[mate]]", "[[meet]]", "unknown section"),
        ('name = "buoy"\n', "", "has no"),
        ("[[mate]]", TWICE, "buoy:J7 is in two mates, but a connector has one counterpart"),
        ("[[mate]]", TWICE, "leave one of the mates out and [[keep]] the pins of both"),
    ],
)
def test_set_files_that_cannot_be_meant(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, says: str
) -> None:
    path = changed(tmp_path, old, new)
    assert run(["batch", str(path), "--out", str(tmp_path / "out"), "-q", "-j", "1"]) == 1
    said = capsys.readouterr().err
    assert says in said
    assert re.search(r"changed\.toml:\d+", said)


@pytest.mark.parametrize("word", ["boards/probe.kicad_pcb", "boards/probe.net",
                                  "set/probe.rules.toml"])  # fmt: skip
@pytest.mark.parametrize("name", ["../probe", "/etc/passwd", "a/../../x"])
def test_a_set_names_no_file_outside_its_folder(
    done: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], word: str, name: str
) -> None:
    path = changed(tmp_path, f'"{word}"', f'"{name}"')
    assert run(["batch", str(path), "--out", str(tmp_path / "out"), "-q", "-j", "1"]) == 1
    assert "outside the folder" in capsys.readouterr().err
    words = ["apply", str(done / "sonde.set.json"), str(path), "-o", str(tmp_path / "new")]
    assert run(words) == 2
    assert f'"{name}" lies outside the folder' in capsys.readouterr().err
    assert not (tmp_path / "new").exists()


def test_one_board_is_no_set() -> None:
    with pytest.raises(RulesError, match="two boards or more"):
        read_set(b'[[board]]\nname = "a"\nfile = "a.kicad_pcb"\n')


def test_nets_called_differently_are_one_when_said_so(tmp_path: Path) -> None:
    renamed = tmp_path / "probe.kicad_pcb"
    renamed.write_bytes(PROBE.read_bytes().replace(b'"/SONDE_TX"', b'"/FROM_BUOY"'))
    path = changed(tmp_path, "boards/probe.kicad_pcb", str(renamed))
    path.write_text(re.sub(r'netlist = "[^"]*probe.net"\n', "", path.read_text()))
    words = ["batch", str(path), "-q", "-j", "1", "--iterations", "30", "--out"]
    assert run([*words, str(tmp_path / "a")]) == 1
    same = '\n[[same]]\na = "buoy:/SONDE_TX"\nb = "probe:/FROM_BUOY"\n'
    path.write_text(path.read_text() + same)
    assert run([*words, str(tmp_path / "b")]) == 0


def test_a_set_is_recognised_when_nothing_changed(done: Path, tmp_path: Path) -> None:
    before = {path: path.stat().st_mtime_ns for path in done.rglob("*") if path.is_file()}
    assert run(["batch", str(SET), "--out", str(done.parent), "-q", "-j", "1"]) == 0
    assert {path: path.stat().st_mtime_ns for path in done.rglob("*") if path.is_file()} == before
    assert run(["batch", str(SET), "--out", str(tmp_path), "-q", "-j", "1"]) == 0
    assert tree(tmp_path / "sonde") == tree(done)
