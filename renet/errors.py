"""What can go wrong, as the library raises it; the command line renders it.

One line for the user: ``FILE:LINE:COL: what is wrong; what to do``.  Parts that
are not known are left out.  Lines and columns count from 1; a column counts
bytes, as editors that jump to ``file:line:col`` do for plain text.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator


class RenetError(Exception):
    """Anything that stops the job; ``exit_code`` is what the process returns."""

    exit_code = 2

    def __init__(
        self, what: str, do: str = "", *, file: str = "", line: int = 0, column: int = 0
    ) -> None:
        super().__init__(what, do, file, line, column)
        self.what = what
        self.do = do
        self.file = file
        self.line = line
        self.column = column

    def in_file(self, file: str) -> RenetError:
        """The same error with its file filled in, unless it already names one."""
        if self.file:
            return self
        return type(self)(self.what, self.do, file=file, line=self.line, column=self.column)

    def __str__(self) -> str:
        place = self.file
        if self.line:
            place += f":{self.line}" + (f":{self.column}" if self.column else "")
        text = (f"{place}: " if place else "") + self.what + (f"; {self.do}" if self.do else "")
        return " ".join(text.splitlines())  # names from files may hold line ends


class InputError(RenetError):
    """A file or an option that cannot be used as it is."""


class RulesError(InputError):
    """A rules file that contradicts itself, the board or the schema."""


class StaleError(InputError):
    """A change list that was made for other files than the ones given."""


class GateError(RenetError):
    """The bytes about to be written do not mean what was intended: nothing was written."""

    exit_code = 3


@contextlib.contextmanager
def blame(file: str) -> Iterator[None]:
    """Errors raised inside name ``file``, unless they already name one."""
    try:
        yield
    except RenetError as fault:
        raise fault.in_file(file) from None


@contextlib.contextmanager
def blame_first(*reads: Callable[[], object]) -> Iterator[None]:
    """Where what is inside fails, the first of ``reads`` that fails too tells which file it was."""
    try:
        yield
    except RenetError:
        for read in reads:
            read()
        raise
