"""The corpus maker, for tests: designs by seed and as files of any version."""

from __future__ import annotations

import sys

from conftest import ROOT

if str(ROOT / "scripts") not in sys.path:
    sys.path.append(str(ROOT / "scripts"))

from corpus_maker.corpus import job, write
from corpus_maker.random_boards import Made, by_pads, by_parts, random_board, rules_of
from corpus_maker.versions import BY_NAME

__all__ = ["BY_NAME", "Made", "by_pads", "by_parts", "job", "random_board", "rules_of", "write"]
