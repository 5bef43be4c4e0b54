"""Boards and netlists for tests: a plain reader, and late changes made by text edits."""
