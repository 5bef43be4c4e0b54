"""An objective nearer to orthogonal routing than straight lines, and a search that lowers it.

    board -> escapes -> links -> ledger (terms) -> search -> the full plan decides

``job`` alone sees files; everything else is numbers.
"""
