"""What a terminal, a sheet and a reader get to see of names from files."""

from __future__ import annotations

import csv
import io

from hypothesis import given
from hypothesis import strategies as st

from renet.report.tables import csv_text, net_shown, shown, table


def test_a_terminal_never_obeys_a_name() -> None:
    assert shown("\x1b[31mRED\u202e\n") == "\\u001b[31mRED\\u202e\\u000a"
    assert net_shown(None) == "(open)"


@given(st.text())
def test_shown_text_is_one_printable_line(text: str) -> None:
    assert all(c.isprintable() for c in shown(text))
    assert len(shown(text).splitlines()) <= 1


def test_columns_are_aligned() -> None:
    assert table([("a", 1), ("bcd", 100)], right=[1]) == "  a      1\n  bcd  100"
    assert table([]) == ""


def test_a_sheet_computes_nothing() -> None:
    rows = list(csv.reader(io.StringIO(csv_text(["n"], [["=1+1"], ["+5V"], [-31.4], [None]]))))
    assert rows == [["n"], ["'=1+1"], ["'+5V"], ["-31.4"], [""]]
