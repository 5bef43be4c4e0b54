"""Names, numbers and identifiers as one version of a file has them."""

from __future__ import annotations

from corpus_maker.design import MM, Design, PadDef, Part, PinDef, unique_id
from corpus_maker.sexpr import Name, Tree
from corpus_maker.versions import Version


def num(value: int | float) -> str:
    """Nanometres as millimetres, without idle digits."""
    whole, rest = divmod(abs(round(value)), MM)
    digits = f"{whole}.{rest:06d}".rstrip("0").rstrip(".")
    return f"-{digits}" if value < 0 and digits != "0" else digits


class Naming:
    """How one design is named in a file of one version."""

    def __init__(self, design: Design, version: Version) -> None:
        self.design, self.version = design, version
        self.pins = {(part.ref, pin.number): pin for part in design.parts for pin in part.kind.pins}
        names = {self.net_name(n) for n in [*design.net_names(), *self._private()]}
        self.numbers = {name: i for i, name in enumerate(["", *sorted(names - {""})])}

    def _private(self) -> list[str]:
        return [f"?{ref}.{number}" for ref, number in self.pins if self.open(ref, number)]

    def open(self, ref: str, number: str) -> bool:
        """Whether a pin is on no net."""
        return (ref, number) not in self.design.nets

    def net_name(self, net: str) -> str:
        """The name in the file; "" where the version has none for it."""
        if net[:1] not in ("=", "?"):
            return net
        ref, _, number = net[1:].partition(".")
        named = self.version.private == "named" and self.pins[ref, number].name
        if net[0] == "=":
            return f"Net-({ref}-{named})" if named else f"Net-({ref}-Pad{number})"
        if not self.version.private:
            return ""
        label = f"{ref}-{named}-Pad{number}" if named else f"{ref}-Pad{number}"
        return f"unconnected-({label})"

    def pad_net(self, part: Part, pad: PadDef) -> list[Tree]:
        """The pad's net and what the version says of its pin."""
        if not pad.number:
            return []
        pin = self.pins[part.ref, pad.number]
        is_open = self.open(part.ref, pad.number)
        name = self.net_name(self.design.net_of(part, pad.number) or f"?{part.ref}.{pad.number}")
        items: list[Tree] = []
        if name and self.version.table:
            items.append(["net", str(self.numbers[name]), Name(name)])
        elif name:
            items.append(["net", Name(name)])
        if self.version.functions:
            if pin.name:
                items.append(["pinfunction", Name(pin.name)])
            items.append(["pintype", Name(self.pin_type(pin, is_open))])
        return items

    def pin_type(self, pin: PinDef, is_open: bool) -> str:
        """The type with the mark of a pin left open."""
        marked = is_open and pin.type != "no_connect"
        return pin.type + ("+no_connect" if marked else "")

    def net(self, net: str) -> list[Tree]:
        """The net of a track or a via."""
        name = self.net_name(net)
        if self.version.table:
            return [["net", str(self.numbers[name])]]
        return [["net", Name(name)]] if name else []

    def layer(self, index: int) -> Name:
        """A copper layer by its place from the front."""
        return Name(self.version.copper_name(index, self.design.layers))

    def ident(self, *names: object) -> list[Tree]:
        """The identifier of one thing."""
        return [[self.version.ids, self.bare_id(*names)]]

    def bare_id(self, *names: object) -> str:
        """The identifier alone, quoted where the version wants it."""
        full = unique_id(self.design.name, *names)
        if self.version.old:
            return full[:8].upper()
        return Name(full) if self.version.ids == "uuid" else full

    def path(self, part: Part) -> str:
        """The link to the schematic symbol."""
        full = unique_id(self.design.name, "symbol", part.ref)
        return f"/{full[:8].upper() if self.version.old else full}"

    def xy(self, word: str, x: int, y: int) -> Tree:
        """A place on the sheet."""
        ox, oy = self.design.origin
        return [word, num(x + ox), num(y + oy)]
