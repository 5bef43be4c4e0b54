"""Guards of the program switched off one at a time: see ``scripts/mutate_guards``."""
