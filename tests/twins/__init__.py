"""Slow, obvious twins of what the package does fast."""
