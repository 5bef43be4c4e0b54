"""Many boards: what is found, what is written, what is skipped, what fails alone."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import pytest
from cases.batches import batch, make_boards, states, tree
from cases.edif import edif_of
from conftest import CORPUS

from renet.batch.marker import MARKER
from renet.batch.orders import find_orders
from renet.cli import run
from renet.errors import InputError
from renet.read.netlist import read_netlist
from renet.read.swaps import read_swaps

QUICK = ("--iterations", 30)


@pytest.fixture(scope="module")
def boards(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_boards(tmp_path_factory.mktemp("boards"), range(1, 5))


def test_the_files_are_those_of_untangle_and_hang_on_no_core_count(
    boards: Path, tmp_path: Path
) -> None:
    one = batch(boards, "--out", tmp_path / "one", "-j", 1, *QUICK)
    two = batch(boards, "--out", tmp_path / "two", "-j", 2, *QUICK)
    assert (one.returncode, two.returncode) == (0, 0), one.stderr + two.stderr
    found = tree(tmp_path / "one")
    assert found == tree(tmp_path / "two")
    for board in sorted(boards.glob("*.kicad_pcb")):
        alone = tmp_path / "alone" / board.stem
        words = ["untangle", str(board), "--netlist", str(board.with_suffix(".net"))]
        assert run([*words, "--out", str(alone), "-q", *map(str, QUICK)]) == 0
        there = tree(tmp_path / "one" / board.stem)
        there.pop(MARKER)
        assert there == tree(alone)
        assert read_swaps(there[f"{board.stem}.swaps"]).moves
    assert len(one.stdout.splitlines()) == 6


def test_a_second_run_does_only_what_changed(boards: Path, tmp_path: Path) -> None:
    copies = tmp_path / "boards"
    copies.mkdir()
    for path in boards.iterdir():
        (copies / path.name).write_bytes(path.read_bytes())
    common = (copies, "--out", tmp_path / "out", "--json", "-j", 1)
    first = batch(*common, *QUICK)
    assert set(states(first).values()) == {"done"}
    before = tree(tmp_path / "out")
    assert set(states(batch(*common, *QUICK, "--resume")).values()) == {"skipped"}
    assert tree(tmp_path / "out") == before

    names = sorted(states(first))
    (copies / f"{names[0]}.rules.toml").write_text(
        (copies / f"{names[0]}.rules.toml").read_text() + "# read again\n"
    )
    (copies / f"{names[1]}.net").unlink()
    (tmp_path / "out" / names[2] / f"{names[2]}.csv").write_text("damaged")
    again = states(batch(*common, *QUICK))
    assert [again[name] for name in names] == ["done", "done", "done", "skipped"]
    assert not (set(states(batch(*common, "--iterations", 31)).values()) - {"done"})
    assert not (set(states(batch(*common, "--iterations", 31, "--anew")).values()) - {"done"})


def test_a_table_that_the_rules_name_belongs_to_the_board(tmp_path: Path) -> None:
    make_boards(tmp_path / "in", [3])
    rules = next((tmp_path / "in").glob("*.rules.toml"))
    rules.write_text(rules.read_text() + '\n[[offers]]\nfile = "pins.csv"\n')
    common = (tmp_path / "in", "--out", tmp_path / "out", "--json", "-j", 1, *QUICK)
    missing = batch(*common)
    assert missing.returncode == 1
    assert "pins.csv" in json.loads(missing.stdout)["boards"][0]["error"]
    table = tmp_path / "in" / "pins.csv"
    table.write_text("part,pin,function\nU1,1,CLK\n")
    assert list(states(batch(*common)).values()) == ["done"]
    table.write_text("part,pin,function\nU1,1,DATA\n")
    assert list(states(batch(*common)).values()) == ["done"]
    assert list(states(batch(*common)).values()) == ["skipped"]


def test_a_failed_board_stops_no_other(boards: Path, tmp_path: Path) -> None:
    make_boards(tmp_path / "in", [1, 2])
    (tmp_path / "in" / "broken.kicad_pcb").write_text("(kicad_pcb (version 20221018)\n  (net 0")
    found = batch(tmp_path / "in", "--out", tmp_path / "out", *QUICK, "-j", 1)
    assert found.returncode == 1
    assert "Traceback" not in found.stderr
    rows = {row["board"]: row for row in _csv(tmp_path / "out" / "batch.csv")}
    assert [row["state"] for row in rows.values()] == ["done", "done", "failed"]
    assert "broken.kicad_pcb:2:" in rows["broken"]["error"]
    page = (tmp_path / "out" / "index.html").read_text()
    assert "3 boards, 1 failed" in page
    for name, row in rows.items():
        review = f'href="{name}/{name}.html"'
        assert (review in page) == (row["state"] == "done")


def _csv(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text())))


def test_limits_and_log(boards: Path, tmp_path: Path) -> None:
    common = (boards, "--out", tmp_path / "out", "-j", 1, *QUICK)
    fine = batch(*common, "--log", "json", "--json", "--fail-above", "crossings=1000000")
    assert fine.returncode == 0
    events = [json.loads(line) for line in fine.stderr.splitlines()]
    assert [event["event"] for event in events] == ["start", *["board"] * 4, "end"]
    assert {event["name"]: event["state"] for event in events[1:-1]} == states(fine)
    assert events[-1]["done"] == 4
    above = batch(*common, "--json", "--fail-above", "length_mm=1")
    assert above.returncode == 1
    assert all(board["above"] for board in json.loads(above.stdout)["boards"])
    assert set(states(above).values()) == {"skipped"}


def test_the_best_of_several_seeds(boards: Path, tmp_path: Path) -> None:
    board = sorted(boards.glob("*.kicad_pcb"))[0]
    figures = []
    for seed in range(3):
        out = tmp_path / str(seed)
        found = batch(board, "--out", out, "--seed", seed, "--json", *QUICK, "-j", 1)
        after = json.loads(found.stdout)["boards"][0]["after"]
        figures.append(tuple(after[key] for key in ("crossings", "overlaps", "over_pads")))
    found = batch(board, "--out", tmp_path / "all", "--seeds", 3, "--json", *QUICK, "-j", 1)
    after = json.loads(found.stdout)["boards"][0]["after"]
    assert tuple(after[key] for key in ("crossings", "overlaps", "over_pads")) == min(figures)


def test_what_is_a_board(tmp_path: Path) -> None:
    for name in ("a/x.kicad_pcb", "a/b/y.kicad_pcb", "a/.c/z.kicad_pcb", "out/x/x.kicad_pcb"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("")
    (tmp_path / "a" / "x.net").write_text("")
    (tmp_path / "a" / "x.rules.toml").write_text("")
    out = tmp_path / "out"
    orders = find_orders([tmp_path], out)
    assert [order.name for order in orders] == ["a/x", "a/b/y"]
    assert orders[0].netlist == tmp_path / "a" / "x.net"
    assert orders[0].rules == tmp_path / "a" / "x.rules.toml"
    assert (orders[1].netlist, orders[1].rules) == (None, None)
    (tmp_path / "a" / "x.swaps").write_text("")
    assert [order.name for order in find_orders([tmp_path], out)] == ["a/b/y"]
    board = tmp_path / "a" / "b" / "y.kicad_pcb"
    assert len(find_orders([board, tmp_path / "a", board], out)) == 1
    with pytest.raises(InputError, match="would both be written into y"):
        other = tmp_path / "y.kicad_pcb"
        other.write_text("")
        find_orders([board, other], out)
    assert [order.name for order in find_orders([tmp_path / "a" / ".c"], out)] == ["z"]
    (tmp_path / "a" / "n.net").write_bytes((CORPUS / "boards" / "probe.net").read_bytes())
    for wrong in (tmp_path / "none.kicad_pcb", tmp_path / "a" / "x.net", tmp_path / "a" / "n.net"):
        with pytest.raises(InputError, match=re.escape(str(wrong))):
            find_orders([wrong], out)
    with pytest.raises(InputError, match="no board in"):
        find_orders([out], out / "x")


def test_lists_of_records_are_boards_too(tmp_path: Path) -> None:
    """By content where the name does not say it; with the netlist of their kind."""
    records, native = b"P  CODE 00\n", b"(kicad_pcb (version 20221018))"
    for name, data in (("a.d356", records), ("b.ipc", records), ("c.ipc", b"not one"),
                       ("d.d356", records), ("d.kicad_pcb", native), ("e.list", records),
                       ("f.d356", records), ("f.swaps", b"")):  # fmt: skip
        (tmp_path / name).write_bytes(data)
    for name in ("a.edf", "a.net", "b.net", "d.net", "d.edf"):
        (tmp_path / name).write_text("")
    (tmp_path / "in.d356").mkdir()
    found = find_orders([tmp_path], tmp_path / "out")
    assert [(o.name, o.board.name, o.netlist and o.netlist.name) for o in found] == [
        ("a", "a.d356", "a.edf"), ("b", "b.ipc", "b.net"), ("d", "d.kicad_pcb", "d.net"),
    ]  # fmt: skip
    assert [o.name for o in find_orders([tmp_path / "e.list"], tmp_path / "out")] == ["e"]
    with pytest.raises(InputError, match="would both be written into d"):
        find_orders([tmp_path / "d.d356", tmp_path / "d.kicad_pcb"], tmp_path / "out")


def test_a_list_of_records_and_its_netlist_in_edif(tmp_path: Path) -> None:
    """The files are those of untangle, the netlist among them."""
    boards = CORPUS / "boards"
    (tmp_path / "in").mkdir()
    there = {suffix: tmp_path / "in" / f"probe{suffix}" for suffix in (".d356", ".edf")}
    words = ["export", "--ipc356", boards / "probe.kicad_pcb", "-o", there[".d356"], "-q"]
    assert run([str(word) for word in words]) == 0
    netlist, _ = read_netlist((boards / "probe.net").read_bytes())
    there[".edf"].write_bytes(edif_of(netlist))
    rules = tmp_path / "in" / "probe.rules.toml"
    rules.write_text('[[pool]]\npart = "U1"\npins = ["16-21"]\n')
    found = batch(tmp_path / "in", "--out", tmp_path / "out", "-j", 1, "--json", *QUICK)
    assert list(states(found).values()) == ["done"], found.stderr + found.stdout
    words = ["untangle", there[".d356"], "--netlist", there[".edf"], "-q", *QUICK]
    assert run([str(word) for word in [*words, "-o", tmp_path / "alone"]]) == 0
    written = tree(tmp_path / "out" / "probe")
    written.pop(MARKER)
    assert written == tree(tmp_path / "alone")
    assert read_swaps(written["probe.swaps"]).moves
    for path in there.values():
        assert written[path.name] != path.read_bytes()


def test_inputs_are_never_overwritten(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "probe"
    folder.mkdir()
    board = folder / "probe.kicad_pcb"
    board.write_bytes((CORPUS / "boards" / "probe.kicad_pcb").read_bytes())
    before = board.read_bytes()
    assert run(["batch", str(board), "--out", str(tmp_path), "-q", "-j", "1"]) == 1
    assert "never overwritten" in capsys.readouterr().err
    assert board.read_bytes() == before


def test_all_real_boards_as_one_batch(
    shared_boards: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = batch(shared_boards[0].parent, "--out", tmp_path, "--json", *QUICK)
    record = json.loads(found.stdout)
    with capsys.disabled():
        print("\n" + (tmp_path / "batch.csv").read_text())
    assert found.returncode == 0
    assert record["counts"] == {"done": len(shared_boards), "skipped": 0, "failed": 0}
    for path in shared_boards:
        assert (tmp_path / path.stem / path.name).read_bytes() == path.read_bytes()
