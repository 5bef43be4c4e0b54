"""What may move where: one module per kind of rule.

``resolve`` makes a :class:`Freedom` of a board and its rules, ``build_problem``
hands it to the engine, ``independent`` takes a result apart into swaps, and
``complaints`` says what a result does against the rules.
"""

from renet.freedom.layers import directions
from renet.freedom.legal import complaints
from renet.freedom.nets import tangle_nets
from renet.freedom.problem import build_problem
from renet.freedom.resolve import Freedom, resolve
from renet.freedom.swaps import independent

__all__ = [
    "Freedom",
    "build_problem",
    "complaints",
    "directions",
    "independent",
    "resolve",
    "tangle_nets",
]
