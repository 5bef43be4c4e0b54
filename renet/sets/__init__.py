"""Boards that mate: read as a set, checked against each other, searched as one.

    set file -> survey each -> do the mates agree? -> one problem -> search -> a change list each

``mates`` pairs the pins and checks them, ``joint`` lays the boards side by side
into one problem, ``run`` is the whole job.
"""
