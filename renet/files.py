"""The only module that opens files: whole reads, atomic writes.

A set of outputs is first written beside its targets under names that begin
with ``.renet-`` and end in ``.part``; only when all of them are safely on disk
are they renamed, one after the other, the change list last.  When a rename
fails, those before it are undone.  So a reader never meets half a file, and
whatever a killed run left is recognised by name.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from renet.errors import InputError


class Output(NamedTuple):
    """A file to be written: where, and every byte of it."""

    path: Path
    data: bytes


def sha256(data: bytes) -> str:
    """The digest that change lists name their sources by."""
    return hashlib.sha256(data).hexdigest()


def read(path: Path) -> bytes:
    """All bytes of a file; anything the system refuses is an InputError."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError("no such file", "check the path", file=str(path)) from None
    except IsADirectoryError:
        raise InputError("is a folder", "name the file in it", file=str(path)) from None
    except OSError as fault:
        raise InputError(
            f"cannot be read: {_reason(fault)}", "check the permissions", file=str(path)
        ) from None


def inside(folder: Path, name: str) -> Path:
    """Where a file is that another file names: inside ``folder``, links followed, or nowhere."""
    path = folder / name
    if "\0" in name or not path.resolve().is_relative_to(folder.resolve()):
        raise InputError(
            f'"{name}" lies outside the folder', "put it beside the file that names it"
        )
    return path


def read_inside(folder: Path, name: str) -> bytes:
    """A file that another file names: plain names inside ``folder`` only."""
    return read(inside(folder, name))


def refuse_inputs(outputs: Iterable[Path], inputs: Sequence[Path]) -> None:
    """Stop when an output would land on an input, by whatever name."""
    for target in outputs:
        for source in inputs:
            if target.exists() and source.exists() and target.samefile(source):
                raise InputError(
                    f"this is the input {source}; inputs are never overwritten",
                    "choose another folder or name",
                    file=str(target),
                )


def locks(path: Path) -> list[Path]:
    """Lock files beside ``path``, as editors leave them while they have it open."""
    names = (f"~{path.name}.lck", f".~lock.{path.name}#", f"{path.name}.lock")
    return [found for name in names if (found := path.with_name(name)).exists()]


def size(path: Path) -> int:
    """Bytes of a file; 0 where there is none to ask."""
    try:
        return path.stat().st_size
    except OSError:
        return 0


def sweep(folder: Path) -> None:
    """Remove what interrupted runs left in a folder that nobody else is writing to."""
    for part in sorted(folder.glob(".renet-*.part")):
        with contextlib.suppress(OSError):
            part.unlink()


def write_all(outputs: Sequence[Output], inputs: Sequence[Path] = ()) -> None:
    """Write all outputs or none of them; the last one is renamed last.

    Folders are made as needed.  On any fault what was written so far is taken
    back, and an InputError names the file that failed.
    """
    refuse_inputs((output.path for output in outputs), inputs)
    with _parts() as parts:
        for output in outputs:
            part = _part(output.path)
            with _blaming(output.path):
                output.path.parent.mkdir(parents=True, exist_ok=True)
                parts.append(part)
                _write_through(part, output.data)
        _place(list(zip(list(parts), outputs, strict=True)), parts)
        for folder in sorted({output.path.parent for output in outputs}):
            _sync_folder(folder)


def _part(path: Path, mark: str = "") -> Path:
    """The name beside ``path`` of what is not yet, or no longer, an output."""
    return path.parent / f".renet-{os.getpid()}-{path.name}{mark}.part"


def _place(ready: Sequence[tuple[Path, Output]], parts: list[Path]) -> None:
    """Rename all parts to their targets; on a fault every target is as it was before."""
    placed: list[tuple[Path, Path | None]] = []
    try:
        for part, output in ready:
            with _blaming(output.path):
                old = _kept(output.path, parts)
                placed.append((output.path, old))
                part.replace(output.path)
    except BaseException as fault:
        stuck = _take_back(placed, {output.path: part for part, output in ready})
        parts[:] = [part for part in parts if part not in stuck.values()]
        if stuck and isinstance(fault, InputError):
            names = ", ".join(path.name for path in stuck)
            fault.what += f", but {names} could not be taken back: see .renet-*.old.part beside it"
        raise


def _kept(path: Path, parts: list[Path]) -> Path | None:
    """A second name, or a copy, of what stands at ``path`` now; None if nothing does."""
    if not os.path.lexists(path):
        return None
    old = _part(path, ".old")
    parts.append(old)
    try:
        os.link(path, old, follow_symlinks=False)
    except (OSError, RuntimeError):  # no second names here, or none for links: RuntimeError
        _write_through(old, path.read_bytes())
    return old


def _take_back(
    placed: Sequence[tuple[Path, Path | None]], ready: Mapping[Path, Path]
) -> dict[Path, Path | None]:
    """Undo renames, the last one first; those that cannot be undone, with what stood there before.

    A rename whose part is still there never happened.
    """
    stuck = {}
    for path, old in reversed(placed):
        try:
            if ready[path].exists():
                continue
            if old is None:
                path.unlink()
            else:
                old.replace(path)
        except OSError:
            stuck[path] = old
    return stuck


@contextlib.contextmanager
def _parts() -> Iterator[list[Path]]:
    """A list of part files; those still there at the end are removed."""
    parts: list[Path] = []
    try:
        yield parts
    finally:
        for part in parts:
            with contextlib.suppress(OSError):
                part.unlink()


@contextlib.contextmanager
def _blaming(path: Path) -> Iterator[None]:
    """Turn what the system says into one clear line about ``path``."""
    try:
        yield
    except OSError as fault:
        raise InputError(
            f"cannot be written: {_reason(fault)}; nothing is written",
            "check the folder, its permissions and the free space",
            file=str(path),
        ) from None


def _write_through(path: Path, data: bytes) -> None:
    """A new file with these bytes, safely on disk."""
    binary: int = getattr(os, "O_BINARY", 0)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | binary, 0o666)
    try:
        rest = memoryview(data)
        while rest:
            rest = rest[os.write(handle, rest) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def _sync_folder(folder: Path) -> None:
    """Make the renames last; file systems that cannot are no reason to fail."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _reason(fault: OSError) -> str:
    return (fault.strerror or type(fault).__name__).lower()
