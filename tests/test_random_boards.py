"""Boards made by seed: reproducible, of the size asked for, every part in its own place."""

from __future__ import annotations

from pathlib import Path

import pytest
from cases.making import BY_NAME, by_pads, by_parts, job, random_board, rules_of, write
from cases.plain import read_plain, read_plain_netlist
from hypothesis import given, settings
from hypothesis import strategies as st


@pytest.mark.parametrize("version", BY_NAME)
def test_same_seed_same_bytes_and_another_seed_other_bytes(version: str) -> None:
    files = [
        job("b", made.design, BY_NAME[version], rules_of(made))
        for made in (random_board(by_parts(seed, 40)) for seed in (7, 7, 8))
    ]
    assert files[0] == files[1] != files[2]


@given(st.integers(0, 10**6), st.integers(20, 400))
@settings(max_examples=25)
def test_parts_stand_on_the_board_and_not_on_one_another(seed: int, parts: int) -> None:
    design = random_board(by_parts(seed, parts)).design
    assert abs(len(design.parts) - parts) <= 1
    boxes = []
    for part in design.parts:
        pads = [(*part.place(pad), pad.w // 2, pad.h // 2) for pad in part.kind.outline.pads]
        left, right = min(x - w for x, _, w, _ in pads), max(x + w for x, _, w, _ in pads)
        top, low = min(y - h for _, y, _, h in pads), max(y + h for _, y, _, h in pads)
        assert left > 0 and top > 0 and right < design.size[0] and low < design.size[1]
        boxes.append((left, right, top, low))
    for i, a in enumerate(boxes):
        for b in boxes[:i]:
            assert a[0] > b[1] or b[0] > a[1] or a[2] > b[3] or b[2] > a[3]


def test_the_bench_board_has_the_pads_and_the_pool_asked_for(tmp_path: Path) -> None:
    made = random_board(by_pads(1, 1000, 60))
    write(job("bench", made.design, BY_NAME["newest"], rules_of(made)), tmp_path)
    pads = read_plain(tmp_path / "bench.kicad_pcb").pads
    ports = [pad for pad in pads if pad.ref == "U1" and pad.number in made.pool]
    assert len(pads) == 1000
    assert len(ports) == len(made.pool) == 60
    assert sum(pad.net.startswith("/LINE") for pad in ports) == 48
    nets = read_plain_netlist(tmp_path / "bench.net")
    assert {(pad.ref, pad.number): pad.net for pad in pads if pad.net} == nets
