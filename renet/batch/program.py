"""Which program this is: by its own files, for a version number outlives a changed line."""

from __future__ import annotations

import functools
import hashlib
from pathlib import Path

import renet
from renet import files

_NOT_CODE = ("__pycache__", "demo")


@functools.cache
def program_digest() -> str:
    """A digest over the installed package's own files, bytecode aside; read once per process."""
    return digest_of(Path(renet.__file__).parent)


def digest_of(package: Path) -> str:
    """A digest over the names and bytes of a package's files; the built-in example is no code."""
    found = hashlib.sha256()
    names = {path.relative_to(package).as_posix(): path for path in package.rglob("*.*")}
    for name, path in sorted(names.items()):
        top = name.partition("/")[0]
        if path.is_file() and top not in _NOT_CODE and path.parent.name != "__pycache__":
            data = files.read(path)
            found.update(f"{name}\n{len(data)}\n".encode() + data)
    return found.hexdigest()
