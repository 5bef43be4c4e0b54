"""The main job over many boards: find them, share them out, remember what is finished.

    paths -> orders -> (in a worker: read -> known? -> pipeline -> write, marker last)
          -> outcomes -> summary

``orders`` finds the boards, ``crew`` runs worker processes, ``work`` is what a
worker does with one board, ``marker`` how finished work is recognised, ``program``
which program did it, ``cluster`` the same work on machines elsewhere, ``summary``
the table of it all.
"""
