"""Where every net of the changed parts now stands: for sheets, programs and firmware."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from renet.report.deed import Deed
from renet.report.tables import csv_text, shown

_PORT = re.compile(r"(?:^|_)(?:P|IO_?|GPIO_?)?([A-Z])_?(\d{1,2})$")
_GUARD = "PIN_MAP_H"


class Line(NamedTuple):
    """One pin of a changed part."""

    part: str
    pin: str
    name: str
    was: str | None
    is_: str | None

    @property
    def moved(self) -> bool:
        """Whether its net differs."""
        return self.was != self.is_


def pin_lines(deed: Deed) -> list[Line]:
    """All pins of the parts that have a moved pin."""
    after = deed.after()
    return [
        Line(*key, deed.pins[key].name, deed.pins[key].net, after[key].net)
        for key in deed.pins_of(deed.moved_parts)
    ]


def map_csv(deed: Deed) -> str:
    """The pin map as a sheet."""
    header = ("part", "pin", "name", "was", "is", "moved")
    return csv_text(header, ((*line, "yes" if line.moved else "") for line in pin_lines(deed)))


def map_json(deed: Deed) -> str:
    """The pin map for programs."""
    pins = [
        {"part": p.part, "pin": p.pin, "name": p.name, "was": p.was, "is": p.is_, "moved": p.moved}
        for p in pin_lines(deed)
    ]
    record = {"schema": "renet/pins/1", "source": deed.result[0], "pins": pins}
    return json.dumps(record, indent=1, ensure_ascii=True) + "\n"


def signals(deed: Deed) -> Iterator[tuple[str, Line]]:
    """(identifier, pin) of every net that stands on just one pin of a changed part."""
    lines = [line for line in pin_lines(deed) if line.is_ is not None]
    count = Counter((line.part, line.is_) for line in lines)
    used: Counter[str] = Counter()
    for line in lines:
        if count[line.part, line.is_] == 1:
            name = identifier(f"{line.part}_{line.is_}")
            used[name] += 1
            yield (name if used[name] == 1 else f"{name}_{used[name]}"), line


def identifier(text: str) -> str:
    """A name that C takes: capitals, digits and single underscores, a letter first."""
    words = re.sub(r"[^A-Za-z0-9]+", "_", text).strip("_").upper()
    return words if words[:1].isalpha() else f"N_{words}"


def header_text(deed: Deed) -> str:
    """The pin map as a C header; port and bit where the pin's name says them."""
    lines = [
        f"/* Pin map of {_comment(deed.result[0])}. Not approved: see change-record.md.",
        " * Alternate functions are not known here: take them from the data sheet. */",
        f"#ifndef {_GUARD}",
        f"#define {_GUARD}",
    ]
    for name, line in signals(deed):
        was = f", was {_comment(line.was or 'open')}" if line.moved else ""
        lines += ["", f"/* {_comment(line.is_ or '')} on {_comment(line.part)}{was} */"]
        lines.append(f"#define {name}_PIN {_string(line.pin)}")
        if line.name:
            lines.append(f"#define {name}_NAME {_string(line.name)}")
        port = _PORT.search(line.name)
        if port:
            lines += [f"#define {name}_PORT '{port[1]}'", f"#define {name}_BIT {int(port[2])}"]
    return "\n".join([*lines, "", "#endif", ""])


def devicetree_text(deed: Deed) -> str:
    """A pin control fragment to be filled in; it names pins, and no function it cannot know."""
    lines = [
        "/* TEMPLATE: this does nothing until it is filled in by hand.",
        " * Node label, property names and function names are those of the controller's binding;",
        " * a consumer refers to a node by pinctrl-0 and pinctrl-names. Not approved. */",
    ]
    for part in sorted(deed.moved_parts):
        lines += ["", f"&pinctrl {{ /* {_comment(part)}: give the label of its pin controller */"]
        for name, line in signals(deed):
            if line.part == part:
                lines += _node(name, line)
        lines.append("};")
    return "\n".join([*lines, ""])


def _node(name: str, line: Line) -> list[str]:
    label = name.lower()
    return [
        f"\t{label}: {label.replace('_', '-')} {{ /* {_comment(line.is_ or '')} */",
        f"\t\tpins = {_string(line.name or line.pin)};",
        '\t\t/* function = "..."; */',
        "\t};",
    ]


def _comment(text: str) -> str:
    """Text inside a C comment: it cannot end it, and it is one line."""
    return shown(text).replace("*/", "* /").replace("/*", "/ *").replace("\\", "/")


def _string(text: str) -> str:
    """A C string; what is not ASCII and printable becomes a question mark."""
    plain = "".join(c if c.isascii() and c.isprintable() else "?" for c in text)
    return '"' + plain.replace("\\", "\\\\").replace('"', '\\"').replace("??", '?""?') + '"'
