"""Records of the rules file; nothing is looked up here and nothing is checked.

Every record carries the ``line`` of the rules file it came from (0: made by a
program), and every string read from a file is a :class:`Word` with the line it
stands on, so that a complaint can point at it.  Pins and nets are still the
words of the file: ``freedom`` finds out what they mean on a given board, and
``verify`` finds it out again by itself.  Both go by what is written here.

Words
-----
* A **pin word** of a part is, in this order: a pad number of the part; else
  ``12-27``, all pins of the part whose number is a plain decimal number from 12
  to 27; else a pin name or a glob on pin names (``*``, ``?``, ``[...]``, upper
  and lower case differ).  ``*`` also finds pins without a name.
* ``PART:PIN`` is split at its first colon; PART is a reference or a glob on
  references, PIN a pin word of each part found.
* A **net word** is a net name, else a glob on net names; of nets that have a pin.
* A word that finds nothing is an error.

Kept pins
---------
A pin that no ``[[pool]]`` and no ``[[unit]]`` names is kept.  A named pin is
kept all the same when ``[[keep]]``, the ``keep`` of any ``[[pool]]``, or
``[[mate]]`` (on a single board) says so; when the input gives a reason outside
the rules (its copper, a netlist that disagrees, pads on different nets, a part
without a reference of its own); and, if only a range or a glob found it (no
word of its pool or unit is its pad number), when it is a supply, ground,
reference, oscillator, reset, boot, debug or not-connected pin by type or by
name, or carries a net that is left out of the tangle or called like a supply or
a ground.  A supply or not-connected pin *by type* that is named by its number is an error.

Violations
----------
``order``, ``pair``, ``apart``, ``beside``, ``needs`` and ``peripheral`` look at
where nets stand; each record says what it calls a violation, always as a fixed
set of (pin, net) facts.  A violation that the input has may stay as it is; a
result may have no violation that the input does not have.

* **Pin order** is the natural order of pad numbers (2 before 10, A2 before B1).
* The **distance** of two pins of a part is the smallest distance of the centre
  of a pad of the one from the centre of a pad of the other (plated pads).
* The **pitch** of a part is the smallest distance, other than nought, of two of
  its pins.  **Neighbours** are two pins at most 1.25 pitches apart.
* Where a record has no ``part``, it holds on every part by itself.
"""

from __future__ import annotations

from typing import NamedTuple


class Word(str):
    """A string of the rules file that remembers the line it stands on.

    ``file`` is "" for the rules file itself, else the file of functions it is from.
    """

    line: int
    file: str

    def __new__(cls, text: str, line: int = 0, file: str = "") -> Word:
        """``text`` with its line, counted from 1."""
        made = super().__new__(cls, text)
        made.line = line
        made.file = file
        return made


def line_of(word: str, otherwise: int = 0) -> int:
    """The line ``word`` stands on, or ``otherwise`` for a plain string."""
    return getattr(word, "line", 0) or otherwise


def file_of(word: str) -> str:
    """The file ``word`` is from, "" for the rules file and for a plain string."""
    return getattr(word, "file", "")


class Pool(NamedTuple):
    """Pins of one part among which nets may move freely.

    Legal: the nets on the pool's pins that are not kept are the same after as
    before, each as often (spare pins count as one kind); per ``[[domain]]``, if any.
    ``keep`` are pin words of the part; these pins are kept whatever else names
    them, and are not of the pool.  A pin may be in one pool or unit only.
    ``cost_mm`` is the length that moving one pin must be worth.
    """

    part: str
    pins: tuple[str, ...]
    keep: tuple[str, ...] = ()
    cost_mm: float = 5.0
    line: int = 0


class Unit(NamedTuple):
    """Tuples of pins (``PART:PIN``, one pin each) whose nets are exchanged whole.

    All tuples are of one length and position for position of like pins.
    ``reversible``: a tuple's nets may be turned end for end.  ``inner``: sets of
    positions (from 1) that may trade places inside a tuple; of a reversible
    tuple the mirror image of each set is a set as well.
    Legal: the tuples' nets are the same after as before, each as often, where
    two tuples of nets are equal if turning (where allowed) and trading inside
    makes them so; tuples trade only if each position is of the same ``[[domain]]``
    in both, positions of an ``inner`` set only if they are of the same one, and
    a tuple is turned only if that leaves every position in its domain.
    A tuple with a kept pin stays, unturned; its positions that are not kept and
    stand in one ``inner`` set may still trade places with one another.
    """

    tuples: tuple[tuple[str, ...], ...]
    reversible: bool = False
    inner: tuple[tuple[int, ...], ...] = ()
    cost_mm: float = 5.0
    line: int = 0


class Mate(NamedTuple):
    """Connector ``a`` of one board meets ``b`` of another (``BOARD:PART``).

    ``map`` is ``straight``, ``mirrored`` (n+1-i), ``row-swapped`` (1-2, 3-4
    exchanged) or pairs (pin of a, pin of b).  On a single board every pin of a
    part named here is kept: its other side would have to follow.
    """

    a: str
    b: str
    map: str | tuple[tuple[str, str], ...] = "straight"
    line: int = 0


class Offers(NamedTuple):
    """What pins of a part can do; or the name of a CSV ``file`` that says it.

    A pin's own name offers itself and its pieces between ``/ ( ) , ; |`` and
    blanks, too, unless a record with ``only`` names the pin: then it offers what
    the records say, and its name nothing.  A function that nobody offers for a
    pin is not offered.  Function names are exact here, and globs in ``[[needs]]``.
    The CSV has the columns part, pin (a pin word), function, one function a row,
    and if need be mapping; ``read.functions`` puts its rows in the place of the
    record, each with ``only``.
    """

    part: str = ""
    pins: tuple[str, ...] = ()
    functions: tuple[str, ...] = ()
    file: str = ""
    only: bool = False
    line: int = 0


class Needs(NamedTuple):
    """What the pins that carry ``nets`` must offer: one of ``functions`` (globs).

    Holds on ``part``, or on every part of which some pin offers one of them.
    Violation: (pin, net) where the pin offers none of them.
    Unless ``shared``, the nets of one part also share out the functions: each
    takes one of those that a pin of its own offers, and no two take the same,
    nor one that a ``[[peripheral]]`` takes (see there).  Two records for one net
    are two needs.
    """

    nets: tuple[str, ...]
    functions: tuple[str, ...]
    part: str = ""
    shared: bool = False
    line: int = 0


class Peripheral(NamedTuple):
    """``nets[i]`` carries ``signals[i]`` of one of ``instances``, all of the same one.

    The function is called ``INSTANCE_SIGNAL``.  Holds on ``part``, or on every
    part of which some pin offers such a function.  Violation: all (pin, net) of
    these nets on the part, where there is no instance such that for each of the
    nets some pin that carries it offers its signal.
    Where the signals of an instance move between pins as a set (a remap group),
    each set is an instance of its own, ``UART1@0`` and ``UART1@1``, and all
    functions that are alike before the ``@`` count as one: whoever takes one of
    them has the whole instance, in that mapping.
    All peripherals of a part, and all its nets with ``[[needs]]`` that are not
    ``shared`` and not in a peripheral, choose at once, and no function is taken
    twice, kept pins included; those with no choice of their own (no instance, no
    pin that offers what is needed) take nothing.  Those that can be tied
    together by functions they may want anywhere on the part are one set;
    violation: all (pin, net) of the set, where no such choice exists.
    A net may be in one peripheral of a part only.
    """

    nets: tuple[str, ...]
    signals: tuple[str, ...]
    instances: tuple[str, ...]
    part: str = ""
    line: int = 0


class Order(NamedTuple):
    """A bus whose ``nets`` (names, in order) ascend or descend along ``part``.

    Each net has one pin there.  Violation: all (pin, net) of these nets on the
    part, where the pins neither ascend nor descend in pin order.  ``direction``
    (``either``, ``ascending``, ``descending``) may ask for one of the two.
    """

    part: str
    nets: tuple[str, ...]
    direction: str = "either"
    line: int = 0


class Pair(NamedTuple):
    """A differential pair, ``nets`` = (P, N), wherever both have one pin on a part.

    With ``sites`` (pairs of pin words of ``part``, P first) the two stand on such
    a site, P on its first pin, or either way round if ``invertible``.  Without,
    they stand on neighbours, and P before N in pin order where the input has it
    so, after it where the input has it so; either way round if ``invertible``.
    Violation: both (pin, net), where this is not so.
    """

    nets: tuple[str, ...]
    part: str = ""
    sites: tuple[tuple[str, ...], ...] = ()
    invertible: bool = False
    line: int = 0


class Apart(NamedTuple):
    """``nets`` keep away from ``others`` (without ``others``: from one another).

    Violation: (pin, net) and (pin, net) of one part, the nets different, closer
    than ``distance_mm``; or neighbours, where ``distance_mm`` is 0.
    """

    nets: tuple[str, ...]
    others: tuple[str, ...] = ()
    part: str = ""
    distance_mm: float = 0.0
    line: int = 0


class Beside(NamedTuple):
    """``nets`` stand next to a ground pin.

    Violation: (pin, net) where no neighbour carries a net of ``ground``.
    A ``ground`` word that is left to its default may find nothing.
    """

    nets: tuple[str, ...]
    part: str = ""
    ground: tuple[str, ...] = ("GND", "GND?", "GND_*", "?GND", "*/GND", "*/?GND", "VSS*", "0V")
    line: int = 0


class Domain(NamedTuple):
    """Pins (``PART:PIN``) of one supply voltage or one side of an isolation.

    Nets never move from a pin of one domain to a pin of another; pins of no
    domain are a domain of their own.  Records of the same name are one domain;
    a pin in two domains is an error.
    """

    name: str
    pins: tuple[str, ...]
    line: int = 0


class Keep(NamedTuple):
    """Nets (globs) and pins (``PART:PIN``, both sides may be globs) that stay.

    A net that stays keeps every pin that carries it.
    """

    nets: tuple[str, ...] = ()
    pins: tuple[str, ...] = ()
    line: int = 0


class Weight(NamedTuple):
    """Crossings of these nets count ``factor`` times.

    A net named in full goes before one found by a glob; two factors of the same
    standing for one net are an error.
    """

    nets: tuple[str, ...]
    factor: float
    line: int = 0


class Signal(NamedTuple):
    """How fast (``kind`` "fast") or how easily disturbed ("quiet") nets are; 0.0: not given."""

    nets: tuple[str, ...]
    kind: str
    swing_v: float = 0.0
    rise_ns: float = 0.0
    line: int = 0


class Rules(NamedTuple):
    """A whole rules file.  Layers count from 1 at the front, -1 is the back.

    The order of records means nothing.  A layer may not be both horizontal and
    vertical, a net not both included and left out by words of the same standing
    (a name goes before a glob).
    """

    horizontal: tuple[int | str, ...] = ()
    vertical: tuple[int | str, ...] = ()
    include: tuple[str, ...] = ()
    leave_out: tuple[str, ...] = ()
    pools: tuple[Pool, ...] = ()
    keeps: tuple[Keep, ...] = ()
    weights: tuple[Weight, ...] = ()
    units: tuple[Unit, ...] = ()
    mates: tuple[Mate, ...] = ()
    offers: tuple[Offers, ...] = ()
    needs: tuple[Needs, ...] = ()
    peripherals: tuple[Peripheral, ...] = ()
    orders: tuple[Order, ...] = ()
    pairs: tuple[Pair, ...] = ()
    aparts: tuple[Apart, ...] = ()
    besides: tuple[Beside, ...] = ()
    domains: tuple[Domain, ...] = ()
    signals: tuple[Signal, ...] = ()
    board_line: int = 0
    tangle_line: int = 0
