"""The orthogonal plan: will it route, over and up, on which layers, and what couples.

Start with :func:`renet.channels.job.outlook`; :mod:`renet.channels.plan` is the planner.
"""
