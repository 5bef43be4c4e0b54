"""Names on the review page that light up what they stand for."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

from renet.report.tables import net_shown


def net_button(net: str | None, nets: Mapping[str, int]) -> str:
    """A net's name as a button; plain text for none."""
    label = escape(net_shown(net))
    if net is None:
        return label
    return (
        f'<button type="button" aria-pressed="false" data-net="{nets[net]}" '
        f'aria-label="Light up net {label}">{label}</button>'
    )
