"""What ``renet apply`` does with the change list of a set: all boards and netlists, or none."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from renet import files
from renet.errors import InputError, blame
from renet.inputs import changes_of, inputs_of

SUFFIX = ".set.json"


def apply_set_list(path: Path, set_file: Path, out: Path, chosen: dict[str, Any]) -> dict[str, Any]:
    """Write every board of the set and its netlist into ``out``; a record of what was written."""
    from renet.batch.setwork import member_order
    from renet.read.setfile import read_set
    from renet.report.cautions import cautions
    from renet.sets.run import apply_set, read_set_list

    if any(chosen[key] for key in ("only", "without", "rules", "carry_over", "hand_over")):
        raise InputError(
            "boards that mate change together or not at all", "leave the other options away"
        )
    with blame(str(set_file)):
        found = read_set(files.read(set_file))
    with blame(str(path)):
        lists = {board: (file, digest) for board, file, digest in read_set_list(files.read(path))}
    if list(lists) != [member.name for member in found.members]:
        raise InputError(
            "the change list is of other boards than the set", "give the set it was made for",
            file=str(path),
        )  # fmt: skip
    orders = [member_order(set_file, member) for member in found.members]
    changes = []
    for file, digest in lists.values():
        with blame(str(path)):
            data = files.read_inside(path.parent, file)
        if files.sha256(data) != digest:
            raise InputError(
                "is not the list that belongs to the set", "make the lists anew",
                file=str(path.parent / file),
            )  # fmt: skip
        changes.append(changes_of(path.parent / file, None, None))
    inputs = [inputs_of(order.board, order.netlist, order.rules) for order in orders]
    with blame(str(set_file)):
        written = apply_set(found, changes, inputs)
    outputs = [
        files.Output(out / order.name / source.name, data)
        for order, pair in zip(orders, written, strict=True)
        for source, data in zip((order.board, order.netlist), pair, strict=True)
        if source is not None and data is not None
    ]
    files.write_all(outputs, [source for order in orders for source in order.sources])
    moved = sum(len(one.moves) for one in changes)
    return {
        "schema": "renet/apply-set/1",
        "files": [str(output.path) for output in outputs],
        "moved_pins": moved,
        "cautions": list(cautions(moved=bool(moved), planned=False)),
    }
