"""The documents that a run leaves for people: pictures and the review page."""

from __future__ import annotations

from typing import NamedTuple

from renet.pipeline import Job, Scene
from renet.report.page import page_pieces
from renet.report.svg import after_svg, before_svg, svg_text
from renet.report.view import scene_view, view_of


class Document(NamedTuple):
    """The bytes of a file, and what its name ends in."""

    suffix: str
    data: bytes


def documents(job: Job, name: str) -> dict[str, Document]:
    """By kind; ``name`` is the board file's name."""
    view = view_of(name, job)
    return {
        "svg": Document(".svg", svg_text(view).encode()),
        "svg_before": Document(".before.svg", before_svg(view).encode()),
        "svg_after": Document(".after.svg", after_svg(view).encode()),
        "html": Document(".html", b"".join(piece.encode() for piece in page_pieces(view))),
    }


def picture(scene: Scene, name: str) -> str:
    """A board as it is, as SVG."""
    return svg_text(scene_view(name, scene))
