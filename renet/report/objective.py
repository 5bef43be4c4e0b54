"""What ``untangle --objective channels`` adds to a report: terms and plans, before and after."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from renet.orthogonal.terms import UNIT as WHOLE
from renet.orthogonal.terms import Terms, Weights, total
from renet.report.tables import shown, table, wrapped

if TYPE_CHECKING:  # the planner is loaded only where it is asked for
    from renet.orthogonal.job import Comparison

_MOST = 3
_WORDS = {
    "overflow_tracks": "overflow, tracks",
    "vias": "vias of links",
    "bends": "bends",
    "layer_changes": "layer changes",
    "crossings": "weighed crossings",
    "crossings_on_two_layers": "crossings on two layers",
    "length_mm": "length of links, mm",
    "price_mm": "price of moved pins, mm",
    "total": "objective",
}
_WEIGHED = "objective = {overflow:g} overflow + {vias:g} vias + {bends:g} bends"
_AND = " + {crossings:g} crossings + {length:g} per 10 mm of length and price"
_SOURCE = " (weights: common practice, no source)"


def objective_record(found: Comparison | None) -> dict[str, Any]:
    """What it adds to the JSON record of ``untangle``; None: straight lines decided."""
    if found is None:
        return {"objective": "crossings"}
    before, after = found.planned
    return {
        "objective": "channels",
        "weights": found.weights._asdict(),
        "terms": {
            word: terms_record(terms, found.weights)
            for word, terms in zip(("before", "after"), found.terms, strict=True)
        },
        "planned": {"before": before._asdict(), "after": after._asdict()},
        "nets_crossing_on_two_layers": [[a, b] for a, b, _ in found.apart],
        "candidates_planned": found.candidates,
    }


def terms_record(terms: Terms, weights: Weights) -> dict[str, Any]:
    """Every term in its own unit, and their sum."""
    return {
        "overflow_tracks": terms.overflow / 1000,
        "vias": terms.vias,
        "bends": terms.bends,
        "layer_changes": terms.changes,
        "crossings": terms.crossings / 1000,
        "crossings_on_two_layers": terms.apart,
        "length_mm": terms.length_nm / 1e6,
        "price_mm": terms.price_nm / 1e6,
        "total": round(total(terms, weights) / WHOLE, 3),
    }


def objective_lines(found: Comparison) -> list[str]:
    """Both tables for people, each with what it stands on."""
    records = [terms_record(terms, found.weights) for terms in found.terms]
    weighed = (_WEIGHED + _AND).format(**found.weights._asdict()) + _SOURCE
    rows = [(word, *(_number(one[key]) for one in records)) for key, word in _WORDS.items()]
    named = found.planned[0]._fields
    plans = [
        (key.replace("_", " "), *(_number(getattr(p, key)) for p in found.planned)) for key in named
    ]
    return [
        "  by the channel objective:",
        _sides(rows),
        *wrapped(weighed),
        f"  planned in full, the best of the input and {found.candidates} candidates:",
        _sides(plans),
        *_coupled(found),
    ]


def _sides(rows: Sequence[tuple[str, ...]]) -> str:
    return table([("", "before", "after"), *rows], right=[1, 2], indent=4)


def _coupled(found: Comparison) -> Iterator[str]:
    """How many pairs of nets couple across layers, and those that do it most often."""
    if found.apart:
        times = sum(count for _, _, count in found.apart)
        yield (
            f"  {len(found.apart)} pairs of nets cross on two layers, {times} times in all "
            "(`renet channels --swaps` estimates the coupling of the plan), most often:"
        )
        for a, b, count in found.apart[:_MOST]:
            yield f"    {count} x {shown(a)} with {shown(b)}"
        if len(found.apart) > _MOST:
            yield f"    and {len(found.apart) - _MOST} more pairs"


def _number(value: float) -> str:
    return f"{value:.1f}" if isinstance(value, float) else str(value)
