"""Names from files may hold anything: no output lets a terminal, browser or sheet obey them."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
from cases.buoys import MIDDLE

from renet.channels.drawing import channels_svg
from renet.channels.job import outlook
from renet.channels.record import channels_text
from renet.channels.sizes import Wanted
from renet.cli import run
from renet.draft import draft_rules, draft_text, gather
from renet.engine import Params
from renet.errors import InputError
from renet.files import read_inside
from renet.pipeline import Inputs, Job, Named, Options, silent, untangle
from renet.read.rules import read_rules
from renet.report.differences import diff_csv, diff_markdown, diff_text, listed
from renet.report.records import untangle_record
from renet.report.summary import inspect_text, untangle_text
from renet.results import outputs_of

EVIL = "=\x1b[31m\u202e<b onload=x>\u2028&\u200f\x07\x9b|"
RULES = b'[[pool]]\npart = "U3"\npins = ["2-4"]\n'
OPTIONS = Options(params=Params(iterations=50))


@pytest.fixture(scope="module")
def inputs() -> Inputs:
    """A board in which nets, pin names and values are hostile; its copper is gone."""
    data = re.sub(rb"\n  \((?:segment|via) .*", b"", MIDDLE)
    evil = EVIL.encode()
    for word in (b"SONDE_TX", b"LED_A", b"IO_A1", b"MCU 4"):
        data = data.replace(b"/" + word, word).replace(word, evil + word)
    return Inputs(Named("b", data), None, Named("r", RULES))


@pytest.fixture(scope="module")
def job(inputs: Inputs) -> Job:
    return untangle(inputs, OPTIONS)


def harmless(text: str, allowed: str = "\n") -> None:
    """No control, format or line-separating character but those allowed."""
    bad = {c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp")} - set(allowed)
    assert not bad, sorted(map(hex, map(ord, bad)))


def test_the_job_moves_hostile_nets(job: Job) -> None:
    assert any(EVIL in (move.was or "") for move in job.changes.moves)


def test_text_for_terminals(inputs: Inputs, job: Job) -> None:
    plan = outlook(inputs, OPTIONS, Wanted(0, 0, 0), None, silent)
    for text in (
        inspect_text(EVIL, job.scene),
        untangle_text(EVIL, job),
        diff_text(listed(job.changes)),
        channels_text(plan, None),
    ):
        harmless(text)
    drawn = channels_svg(plan)
    harmless(drawn)
    assert "<b " not in drawn
    ElementTree.fromstring(drawn)


def test_a_pin_explained(
    inputs: Inputs, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "b.kicad_pcb"
    path.write_bytes(inputs.board.data)
    assert run(["rules", str(path), "--explain", "U3:2"]) == 0
    said = capsys.readouterr().out
    harmless(said)
    assert "onload" in said


def test_markdown(job: Job) -> None:
    text = diff_markdown(listed(job.changes))
    harmless(text)
    assert "<b" not in text
    rows = [line for line in text.split("\n") if line.startswith("|")]
    assert {len(re.findall(r"(?<!\\)\|", row)) for row in rows} == {5}


def test_csv(job: Job) -> None:
    outputs = outputs_of(job, Path(), "b", None)
    for text in (outputs["csv"].data.decode(), diff_csv(listed(job.changes))):
        harmless(text)
        cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
        assert any("onload" in cell for cell in cells)
        for cell in cells:
            assert cell[:1] not in "=+@\t" or not cell
            assert cell[:1] != "-" or float(cell) <= 0


def test_svg(job: Job) -> None:
    outputs = outputs_of(job, Path(), "b", None)
    for text in (outputs[kind].data.decode() for kind in outputs if "svg" in kind):
        harmless(text)
        for element in ElementTree.fromstring(text).iter():
            assert element.tag.rpartition("}")[2] not in ("script", "b", "foreignObject")
            assert not any(key.startswith("on") for key in element.attrib)


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


def test_html(job: Job) -> None:
    text = outputs_of(job, Path(), "b", None)["html"].data.decode()
    harmless(text)
    parser = _Tags()
    parser.feed(text)
    for tag, attributes in parser.found:
        assert tag != "b"
        assert not any(name.startswith("on") for name in attributes)
        assert not str(attributes.get("src", "")).startswith("http")


def test_the_draft_says_names_in_toml_strings_only(job: Job) -> None:
    text = draft_text(draft_rules(gather(job.scene.board, None, [], [])), "b")
    read_rules(text.encode())
    harmless(text)


def test_json_is_ascii(job: Job) -> None:
    record = untangle_record(job, {}, 0.0)
    assert any(EVIL in str(move["was"]) for swap in record["swaps"] for move in swap["moves"])


def test_errors_on_the_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "b.kicad_pcb"
    path.write_bytes(MIDDLE.replace(b'(net 2 "/SONDE_TX")', b'(net 2 "' + EVIL.encode() + b'")', 1))
    assert run(["inspect", str(path)]) == 2
    said = capsys.readouterr().err
    harmless(said)
    assert said.count("\n") == 1


@pytest.mark.parametrize("name", ["../x", "/etc/passwd", "a/../../x", "link/x"])
def test_a_file_cannot_name_one_outside_its_folder(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    (tmp_path / "x").write_bytes(b"part,pin,function\n")
    (folder / "link").symlink_to(tmp_path)
    with pytest.raises(InputError, match="outside the folder"):
        read_inside(folder, name)


@pytest.mark.parametrize("name", ["../b.csv", "/etc/passwd"])
def test_rules_cannot_name_one_outside(
    tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    (tmp_path / "b.csv").write_bytes(b"part,pin,function\nU3,2,X\n")
    (folder / "b.kicad_pcb").write_bytes(MIDDLE)
    (folder / "b.rules.toml").write_text(f'[[offers]]\nfile = "{name}"\n')
    assert run(["inspect", str(folder / "b.kicad_pcb")]) == 2
    assert "must be a file in the folder" in capsys.readouterr().err
