"""A progress line on a terminal, for commands that take more than a second."""

from __future__ import annotations

import sys
import time

import click

_PATIENCE = 1.0


class Progress:
    """Names the stage that runs, on stderr, only there where somebody watches."""

    def __init__(self, silent: bool) -> None:
        self._shows = not silent and sys.stderr.isatty()
        self._started = time.monotonic()
        self._shown = False

    def __enter__(self) -> Progress:
        return self

    def __call__(self, stage: str) -> None:
        """A stage begins."""
        elapsed = time.monotonic() - self._started
        if self._shows and (self._shown or elapsed > _PATIENCE):
            self._shown = True
            click.echo(f"\r\x1b[K{elapsed:5.0f} s  {stage} ...", nl=False, err=True)

    def __exit__(self, *_: object) -> None:
        if self._shown:
            click.echo("\r\x1b[K", nl=False, err=True)
