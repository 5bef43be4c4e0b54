"""What pictures and the review page are made from: one board, two assignments of its nets.

A view holds no bytes of a file.  ``after`` is None where nothing was proposed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np

from renet.changes import ChangeList
from renet.columns import PadColumns
from renet.engine import Row
from renet.model import NONE, Board, IntArray
from renet.pipeline import Job, Scene
from renet.remaining import Remaining
from renet.report.drawing import board_elements
from renet.report.held import Held, held_of
from renet.report.paths import Frame, frame_of
from renet.tangle import Tangle, pin_nets


@dataclass(frozen=True, eq=False)
class View:
    """A board with its tangle before and, where something moves, after.

    ``labels`` says which pads copper has joined; ``left_out`` is net id -> why;
    ``pin_net`` is the net of every pin after the change; ``remaining`` are the
    crossings that are left, and ``held`` says of them in words what holds them;
    ``kept`` is why pins stay that the rules name;
    ``knows_copper`` whether the file says what copper there is.
    """

    name: str
    board: Board
    cols: PadColumns
    labels: IntArray
    left_out: dict[int, str]
    before: Tangle
    after: Tangle | None
    pin_net: IntArray
    changes: ChangeList
    frontier: tuple[Row, ...] = ()
    remaining: tuple[Remaining, ...] = ()
    held: Callable[[Iterable[Remaining]], Iterator[Held]] = lambda those: iter(())
    kept: tuple[tuple[int, str], ...] = ()
    knows_copper: bool = True

    @cached_property
    def frame(self) -> Frame:
        """The frame round edge and pads, the same in every picture of a board."""
        found = [np.array(piece, dtype=np.int64).reshape(-1, 2) for piece in self.board.edge]
        return frame_of(np.concatenate([*found, self.cols.corners.reshape(-1, 2)]))

    @cached_property
    def drawn(self) -> str:
        """The board itself as SVG elements, drawn once for all pictures."""
        return board_elements(self.board, self.frame)


def view_of(name: str, job: Job) -> View:
    """A finished run."""
    nets = pin_nets(job.board.board)
    return replace(
        scene_view(name, job.scene),
        after=job.tangle,
        pin_net=nets,
        changes=job.changes,
        frontier=job.frontier,
        remaining=job.remaining,
        held=partial(held_of, job),
        kept=job.scene.freedom.kept,
    )


def scene_view(name: str, scene: Scene) -> View:
    """A board as it is."""
    return View(
        name=name,
        board=scene.board,
        cols=scene.cols,
        labels=scene.labels,
        left_out=scene.left_out,
        before=scene.tangle,
        after=None,
        pin_net=pin_nets(scene.board),
        changes=ChangeList((), ()),
        knows_copper=scene.file.knows_copper,
    )


def moved_pins(view: View) -> list[int]:
    """Pins whose net differs, in the order of the board."""
    return np.flatnonzero(pin_nets(view.board) != view.pin_net).tolist()


def touched_nets(view: View) -> frozenset[int]:
    """Nets that gain or lose a pin."""
    before = pin_nets(view.board)
    moved = before != view.pin_net
    return frozenset({*before[moved].tolist(), *view.pin_net[moved].tolist()} - {NONE})
