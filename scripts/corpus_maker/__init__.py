"""Makes the corpus: boards, netlists and rules of our own, the same bytes every time.

A design is data (``design``: parts, pins, nets, copper); ``outlines`` and
``kinds`` say what parts look like, ``buoy`` and ``probe`` what is on the two
boards, ``router`` and ``fills`` lay their copper, the writers turn a design
into a file of one version.  Nothing here imports renet: what reads the corpus
and what writes it share no code.
"""
