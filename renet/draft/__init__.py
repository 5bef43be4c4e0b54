"""Drafting the rules file: what may be traded, what must not, and on what evidence."""

from renet.draft.draft import Draft, draft_rules
from renet.draft.evidence import Evidence, gather
from renet.draft.explain import explain
from renet.draft.records import ASKED, FREE, KEPT, Entry, Verdict
from renet.draft.symbols import SymbolPin, read_symbols
from renet.draft.text import draft_text
from renet.draft.update import Updated, updated

__all__ = [
    "ASKED",
    "FREE",
    "KEPT",
    "Draft",
    "Entry",
    "Evidence",
    "SymbolPin",
    "Updated",
    "Verdict",
    "draft_rules",
    "draft_text",
    "explain",
    "gather",
    "read_symbols",
    "updated",
]
