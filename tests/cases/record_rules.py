"""What every kind of input can say of the buoy: pins by number, plane nets by name."""

from __future__ import annotations

from conftest import CORPUS

RULES = (CORPUS / "standards" / "buoy.rules.toml").read_bytes()
