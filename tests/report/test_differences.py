"""``renet diff`` in all its formats: same moves, names inert, worth by hand counting."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import pytest
from cases.review import DEMO, EVIL, buoy_view, figures_with
from hypothesis import given
from hypothesis import strategies as st

from renet import cli
from renet.changes import ChangeList, Figures, Move, Swap
from renet.cli_review import painted
from renet.report.differences import diff_csv, diff_markdown, diff_record, diff_text, listed, marked
from renet.report.routes import routes
from renet.report.swaps import swaps_text
from renet.report.view import touched_nets

NASTY = ["=1+1", "@SUM(A1)", "a|b", "`c`", "[x](y)", EVIL, "*b*", "\n# head", "-1"]


def nasty_list() -> ChangeList:
    nets = NASTY
    moves = tuple(
        Move("U1", str(n), net, net, nets[(n + 1) % len(nets)]) for n, net in enumerate(nets)
    )
    return ChangeList((), (Swap(1, moves),))


def test_markdown_holds_no_markup_from_names() -> None:
    text = diff_markdown(listed(nasty_list()))
    for line in text.splitlines():
        if line.startswith("| U1"):
            assert len(re.findall(r"(?<!\\)\|", line)) == 5
            assert not re.search(r"(?<!\\)[`*\[\]<]", line)
    assert "<img" not in text
    assert sum(line.startswith("#") for line in text.splitlines()) == 2


@given(st.text(max_size=30))
def test_marked_text_is_one_line_without_a_live_sign(text: str) -> None:
    """CommonMark 0.31, section 2.4: a backslash makes any ASCII punctuation literal."""
    found = marked(text)
    assert "\n" not in found
    assert not re.search(
        r"(?<!\\)(?:\\\\)*[`*_\[\]|#!~]", found.replace("&amp;", "").replace("\\\\", "")
    )
    assert "<" not in found and ">" not in found


def test_a_sheet_computes_no_name() -> None:
    rows = list(csv.reader(io.StringIO(diff_csv(listed(nasty_list())))))
    for row in rows[1:]:
        assert not any(cell.startswith(("=", "+", "@", "\t")) for cell in row[3:6])
        assert not any(cell.startswith("-") for cell in row[3:6])


def test_all_formats_tell_the_same_moves() -> None:
    found = listed(buoy_view().changes)
    moves = found.changes.moves
    record = diff_record(found)
    told = [(m["part"], m["pin"], m["was"], m["is"]) for s in record["swaps"] for m in s["moves"]]
    assert told == [(m.part, m.pin, m.was, m.is_) for m in moves]
    rows = list(csv.DictReader(io.StringIO(diff_csv(found))))
    assert [(r["part"], r["pin"], r["was"] or None, r["is"] or None) for r in rows] == told
    text = diff_text(found)
    for move in moves:
        assert re.search(rf"{move.part}:{move.pin} +{move.name} ", text)


def test_functions_before_and_after_stand_beside_each_net() -> None:
    swap = Swap(
        1,
        (
            Move("U1", "5", "IO_A", "/TX", "/RX"),
            Move("U1", "6", "IO_B", "/RX", None),
            Move("U1", "7", "IO_C", None, "/TX"),
        ),
    )
    assert [str(route) for route in routes(swap)] == [
        "/TX on U1: 5 IO_A -> 7 IO_C",
        "/RX on U1: 6 IO_B -> 5 IO_A",
    ]


def test_nets_touched_are_those_that_gain_or_lose_a_pin() -> None:
    view = buoy_view()
    expected = sorted(view.board.nets[net] for net in touched_nets(view))
    assert diff_record(listed(view.changes))["nets_touched"] == expected


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, untangled once, with one swap of it accepted."""
    folder = tmp_path_factory.mktemp("done")
    board = str(DEMO / "buoy.kicad_pcb")
    assert cli.run(["untangle", board, "-o", str(folder), "--quiet"]) == 0
    swaps, out = str(folder / "buoy.swaps"), str(folder / "some.kicad_pcb")
    assert cli.run(["apply", swaps, board, "-o", out, "--only", "1,3", "--quiet"]) == 0
    return folder


def printed(capsys: pytest.CaptureFixture[str], *args: object) -> tuple[int, str]:
    code = cli.run(["diff", *map(str, args)])
    return code, capsys.readouterr().out


def test_two_boards_are_weighed(done: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Worth of both swaps together, counted from scratch; they are joined where nets are shared."""
    code, out = printed(capsys, DEMO / "buoy.kicad_pcb", done / "some.kicad_pcb", "--json")
    swaps = json.loads(out)["swaps"]
    assert code == 1
    view = buoy_view()
    _, change = figures_with(view, frozenset({1, 3}))
    if len(swaps) == 1:
        assert Figures(**swaps[0]["alone"]) == change
        return
    alone = [Figures(**swap["alone"]) for swap in swaps]
    expected = [view.changes.swaps[n].alone for n in (0, 2)]
    assert sorted(alone) == sorted(one for one in expected if one is not None)


@pytest.mark.parametrize("form", ["text", "markdown", "csv", "json"])
def test_no_colours_off_a_terminal(
    form: str, done: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out = printed(capsys, done / "buoy.swaps", "--format", form)
    assert code == 1
    assert "\x1b" not in out
    assert "SONDE" in out


def test_equal_files_differ_in_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    board, netlist = DEMO / "buoy.kicad_pcb", DEMO / "buoy.net"
    for pair in ((board, board), (board, netlist), (netlist, board)):
        code, out = printed(capsys, *pair, "--json")
        assert (code, json.loads(out)["swaps"]) == (0, [])


def test_paint_is_only_paint() -> None:
    text = diff_text(listed(buoy_view().changes))
    assert re.sub(r"\x1b\[[\d;]*m", "", painted(text)) == text
    assert "\x1b[32m" in painted(text)


def test_saved_worth_survives_the_list(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "buoy.swaps"
    view = buoy_view()
    path.write_text(swaps_text(view.changes), "utf-8")
    _, out = printed(capsys, path, "--json")
    told = [Figures(**swap["lost_without"]) for swap in json.loads(out)["swaps"]]
    assert told == [swap.lost_without for swap in view.changes.swaps]
