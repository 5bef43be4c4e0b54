"""What the search promised is what the board about to be written has."""

from __future__ import annotations

import pytest

from renet.changes import Figures
from renet.engine import Score
from renet.errors import GateError
from renet.gate import check_figures

PROMISED = Score(3, 1, 2, (3000, 1000, 2000), 41_500_004.0, 4, 0)


def test_equal_figures_pass_and_lengths_may_be_rounded() -> None:
    check_figures(Figures(3, 1, 2, 41.5), PROMISED)


@pytest.mark.parametrize(
    "found",
    [
        Figures(4, 1, 2, 41.5),
        Figures(3, 0, 2, 41.5),
        Figures(3, 1, 1, 41.5),
        Figures(3, 1, 2, 41.6),
    ],
)
def test_any_other_figure_stops_the_write(found: Figures) -> None:
    with pytest.raises(GateError, match="the search promised"):
        check_figures(found, PROMISED)
