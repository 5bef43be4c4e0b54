"""Which files make up the corpus, and whether the ones on disk are those."""

from __future__ import annotations

from pathlib import Path

from corpus_maker import rules_text
from corpus_maker.board_writer import board_text
from corpus_maker.buoy_copper import routed_buoy
from corpus_maker.design import Design
from corpus_maker.edif_writer import edif_text
from corpus_maker.naming import Naming
from corpus_maker.netlist_writer import netlist_text
from corpus_maker.probe import probe
from corpus_maker.records_writer import records_text
from corpus_maker.schematic import schematic_text
from corpus_maker.structures import FOLDER, structure_files
from corpus_maker.versions import MIDDLE, NEWEST, OLD, RECENT, SHEET_SUFFIX, SUFFIX, Version

Files = dict[str, bytes]
FOLDERS = ("demo", "boards", "standards", FOLDER)


def corpus_files() -> Files:
    """All files by their path under corpus/."""
    buoy = routed_buoy()
    files: Files = {}
    files |= job("demo/buoy", buoy, NEWEST, rules_text.BUOY)
    files["demo/buoy" + SHEET_SUFFIX] = schematic_text(buoy).encode()
    files |= job("boards/buoy_old", buoy, OLD, rules_text.BUOY_BY_NUMBER)
    files |= job("boards/buoy_middle", buoy, MIDDLE, rules_text.BUOY)
    files |= job("boards/buoy_crlf", buoy, _with_crlf(MIDDLE), rules_text.BUOY)
    files |= job("boards/buoy_two_layers", routed_buoy(2), RECENT, rules_text.BUOY)
    files |= job("boards/probe", probe(), NEWEST, rules_text.PROBE)
    return files | standards("standards/buoy", Naming(buoy, NEWEST)) | structure_files()


def standards(stem: str, naming: Naming) -> Files:
    """The design in formats that belong to no program, with the rules that they can carry."""
    return {
        stem + ".d356": records_text(naming).encode(),
        stem + ".edf": edif_text(naming).encode(),
        stem + ".rules.toml": rules_text.BUOY_IN_RECORDS.encode(),
    }


def _with_crlf(version: Version) -> Version:
    return version._replace(layout=version.layout._replace(newline="\r\n"))


def job(stem: str, design: Design, version: Version, rules: str) -> Files:
    """A board with its netlist and its rules."""
    naming = Naming(design, version)
    netlist = netlist_text(naming, version.layout.newline)
    return {
        stem + SUFFIX: board_text(design, version).encode(),
        stem + ".net": netlist.encode(),
        stem + ".rules.toml": rules.encode(),
    }


def differences(files: Files, root: Path) -> list[str]:
    """What on disk is missing, changed, or not the corpus maker's."""
    found = {str(p.relative_to(root)): p for d in FOLDERS for p in (root / d).glob("*")}
    by_hand = {name for name in found if name.startswith(FOLDER) and name.endswith(".toml")}
    found = {name: path for name, path in found.items() if name not in by_hand}
    faults = [f"missing: {name}" for name in sorted(files.keys() - found.keys())]
    faults += [f"not made by this script: {name}" for name in sorted(found.keys() - files.keys())]
    faults += [
        f"changed: {name}"
        for name in sorted(files.keys() & found.keys())
        if found[name].read_bytes() != files[name]
    ]
    return faults


def write(files: Files, root: Path) -> None:
    """Put the corpus on disk."""
    for name, data in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
