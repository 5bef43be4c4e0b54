"""What holds the crossings that are left, as people and programs read it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from conftest import CORPUS

from renet.engine import Params
from renet.inputs import inputs_of
from renet.pipeline import Inputs, Job, Named, Options, untangle
from renet.remaining import Kind, Reason
from renet.report.held import held_of
from renet.report.pictures import documents
from renet.report.remaining import remaining_lines, remaining_records
from renet.worth import Ground, Worth

BOARD = CORPUS / "demo" / "buoy.kicad_pcb"
RULE = b'\n[[keep]]\nnets = ["/SONDE_TX"]\n'


def run(rule: bytes, **options: int) -> Job:
    """The demo with one rule more, not searched for long."""
    inputs = inputs_of(BOARD, None, None)
    assert inputs.rules is not None
    rules = Named(inputs.rules.name, inputs.rules.data + rule, inputs.rules.beside)
    params = Params(iterations=300)
    return untangle(Inputs(inputs.board, rules=rules), Options(params=params, **options))  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def limited() -> Job:
    """With few moves allowed."""
    return run(b"", max_moves=8)


@pytest.fixture(scope="module")
def ruled() -> Job:
    """With a rule too many."""
    return run(RULE)


def test_every_crossing_has_a_reason_and_a_sentence(limited: Job, ruled: Job) -> None:
    records = [*remaining_records(limited), *remaining_records(ruled)]
    crossings = limited.tangle.figures.crossings, ruled.tangle.figures.crossings
    assert len(records) == sum(crossings) and 0 not in crossings
    for record in records:
        assert record["held_by"] in {kind.value for kind in Kind}
        assert record["why"] and len(set(record["nets"])) == 2
        assert (record["rule"] is None) == (record["held_by"] != "rule")
        assert bool(record["exchange"]) == (record["held_by"] not in ("kept", "stuck"))
    assert {"rule", "limit", "kept"} <= {record["held_by"] for record in records}


def test_an_exchange_does_to_the_board_what_is_said(limited: Job) -> None:
    """Against ``worth``, which counts whole tangles."""
    scene, after = limited.scene, limited.result.pin_net
    ground = Ground(scene.cols, scene.labels, scene.active, tuple(p.pads for p in scene.board.pins))
    worth = Worth(ground, after)
    seen: set[Reason] = set()
    for one in limited.remaining:
        if len(one.reason.pins) == 2 and one.reason not in seen:
            seen.add(one.reason)
            a, b = one.reason.pins
            change = worth.change({a: int(after[b]), b: int(after[a])})
            assert change.crossings == one.reason.crossings
    assert len(seen) > 2


def test_a_rule_that_costs_crossings_is_named(ruled: Job) -> None:
    told = [one for one in ruled.remaining if one.reason.kind is Kind.RULE]
    line = ruled.scene.rules.keeps[-1].line
    assert told and all(one.reason.rule == f"[[keep]] line {line}" for one in told)
    assert all(one.reason.crossings < 0 for one in told)
    said = {record["why"] for record in remaining_records(ruled) if record["rule"]}
    assert all(f"[[keep]] line {line} holds it: without that, exchang" in why for why in said)


def test_the_ends_are_those_of_the_nets(limited: Job) -> None:
    board = limited.board.board
    for one in held_of(limited, limited.remaining):
        for net, ends in zip(one.nets, one.ends, strict=True):
            assert {board.net_name(board.pins[pin].net) for pin in ends} == {net}


def test_the_text_begins_with_what_can_be_done(limited: Job, ruled: Job) -> None:
    text = " ".join(" ".join(remaining_lines(ruled)).split())
    assert text.index(" holds it: ") < text.index("no pin of either net may move")
    page = documents(limited, BOARD.name)["html"].data.decode()
    assert page.count("<tr><td><button") >= limited.tangle.figures.crossings
    assert "What holds the crossings that are left" in page
    pin, why = limited.scene.freedom.kept[0]
    assert (
        why in page and limited.scene.board.pin_label(pin) in page.split("Named pins that stay")[1]
    )


def test_nothing_is_said_where_nothing_is_left(limited: Job) -> None:
    clean = replace(limited, remaining=())
    assert remaining_lines(clean) == []
    assert "What holds the crossings" not in documents(clean, BOARD.name)["html"].data.decode()
