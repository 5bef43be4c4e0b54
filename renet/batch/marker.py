"""How finished work is recognised: a marker beside the results, renamed into place last.

The marker holds the digest of everything the result hangs on and the digests of
the files it stands for.  So it tells a finished board from an unfinished one, an
unchanged board from a changed one, and whole results from damaged ones.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from renet import files
from renet.batch.work import Product, Summary
from renet.changes import Figures
from renet.errors import InputError

SCHEMA = "renet/job/1"
MARKER = "finished.json"


def store(folder: Path, digest: str, product: Product, sources: Sequence[Path]) -> list[str]:
    """Write the results and then their marker, all or nothing; the names of the results."""
    files.sweep(folder)
    outputs = [files.Output(folder / name, data) for name, data in product.outputs]
    marker = {
        "schema": SCHEMA,
        "fingerprint": digest,
        "files": {name: files.sha256(data) for name, data in product.outputs},
        "summary": product.summary._asdict()
        | {
            "before": product.summary.before._asdict(),
            "after": product.summary.after._asdict(),
        },
    }
    text = json.dumps(marker, indent=1, ensure_ascii=True, allow_nan=False) + "\n"
    files.write_all([*outputs, files.Output(folder / MARKER, text.encode())], sources)
    return [name for name, _ in product.outputs]


def finished(folder: Path, digest: str) -> tuple[Summary, list[str]] | None:
    """Summary and names of results that stand there whole for this digest; None if not so."""
    try:
        marker = json.loads(files.read(folder / MARKER))
        if marker["schema"] != SCHEMA or marker["fingerprint"] != digest:
            return None
        for name, wanted in marker["files"].items():
            if files.sha256(files.read_inside(folder, name)) != wanted:
                return None
        return _summary(marker["summary"]), list(marker["files"])
    except (InputError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None  # no marker, or none of ours: the board is done again


def _summary(record: dict[str, Any]) -> Summary:
    figures = {key: Figures(**record[key]) for key in ("before", "after")}
    return Summary(**{**record, **figures, "notes": tuple(record["notes"])})
