"""The search for a better pinout."""
