"""What a person reads at the end of a command: short, aligned, worst first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING

from renet.changes import ChangeList, Figures, Swap
from renet.model import Board
from renet.pipeline import Job, Scene
from renet.report.cautions import cautions
from renet.report.frontier import frontier_lines
from renet.report.remaining import remaining_lines
from renet.report.tables import net_shown, shown, table, wrapped
from renet.verify import Verdict

if TYPE_CHECKING:  # networkx is loaded only where it is asked for
    from renet.planarity import Facing, Planarity

NO_COPPER = "this kind of file says nothing of copper: all connections count as open"
_MANY = 8


def inspect_text(name: str, scene: Scene) -> str:
    """How tangled the board is, and why."""
    board, figures = scene.board, scene.tangle.figures
    lines = [
        f"{shown(name)}: {len(board.parts)} parts, {len(board.pins)} pins, "
        f"{len(board.nets)} nets, {len(board.layers)} copper layers",
        f"  {len(scene.tangle.connections)} open connections, {figures.length_mm:.1f} mm",
        f"  {figures.crossings} crossings, {figures.overlaps} overlaps, "
        f"{figures.over_pads} over foreign pads",
    ]
    lines += [] if scene.file.knows_copper else [f"  {NO_COPPER}"]
    lines += _worst(board, scene)
    lines += _reasons(
        "left out of the tangle", [(board.nets[net], why) for net, why in scene.left_out.items()]
    )
    lines += _reasons(
        "board and netlist disagree, so these pins stay",
        [(board.pin_label(pin), why) for pin, why in scene.disagree.items()],
    )
    lines += _strangers(scene)
    lines += freedom_lines(scene)
    return "\n".join(lines)


def _strangers(scene: Scene) -> list[str]:
    """Parts that the netlist calls otherwise than the board, and those it alone has."""
    met = scene.met.agreement
    lines = []
    if met.called:
        pairs = [f"{ours} is {theirs}" for ours, theirs in met.called.items()]
        lines.append(f"  called otherwise in the netlist: {shown(_some(pairs))}")
    if met.absent:
        lines.append(f"  only in the netlist: {shown(_some(met.absent))}")
    return lines


def planarity_lines(flat: Planarity, pairs: Sequence[Facing]) -> list[str]:
    """Whether one layer could do, and what has to leave it."""
    if flat.planar:
        verdict = "one layer: nothing speaks against it with this pinout"
    else:
        verdict = f"one layer: impossible with this pinout; in conflict: {', '.join(flat.conflict)}"
    lines = [*wrapped(shown(verdict)), f"  straight connections: {flat.layers} layers are enough"]
    rows: list[Sequence[object]] = [("between", "", "nets", "must leave the layer")]
    rows += [(pair.a, pair.b, pair.nets, pair.leave) for pair in pairs[:_MANY] if pair.leave]
    return lines + ([table(rows, right=[2, 3], indent=4)] if len(rows) > 1 else [])


def freedom_lines(scene: Scene) -> list[str]:
    """How many pins may move, and why others that were named may not."""
    if not scene.rules.pools and not scene.rules.units:
        return ["  no rules file frees any pin; draft one with `renet rules BOARD -o FILE`"]
    lines = [f"  {scene.free_pins} pins may move, {len(scene.freedom.kept)} named pins stay"]
    counted = Counter(why for _, why in scene.freedom.kept)
    for why, count in sorted(counted.items(), key=lambda item: (-item[1], item[0]))[:_MANY]:
        pins = [scene.board.pin_label(pin) for pin, reason in scene.freedom.kept if reason == why]
        lines.append(f"    {count} x {shown(why)}: {shown(_some(pins))}")
    lines += [f"  note: {shown(finding.text)}" for finding in scene.freedom.findings]
    return lines


def untangle_text(name: str, job: Job, plan: Sequence[str] = ()) -> str:
    """What changed, what it is worth, and what is still to be done by hand.

    ``plan``: lines about the channel plan, where that decided.
    """
    lines = [f"{shown(name)} (copper: {job.changes.copper})"]
    lines.append(before_after(job.scene.tangle.figures, job.tangle.figures))
    lines.append("  " + bound_words(job))
    lines += [] if job.scene.file.knows_copper else [f"  {NO_COPPER}"]
    lines += _strangers(job.scene)
    lines += freedom_lines(job.scene)
    lines += ["", *frontier_lines(job.frontier)] if job.frontier else []
    lines += remaining_lines(job)
    after = ["", *plan] if plan else []
    if not job.changes.swaps:
        nothing = "  nothing moves: no exchange within this freedom is worth its price"
        return "\n".join([*lines, nothing, *after, *caution_lines(False, bool(plan))])
    lines += ["", *swap_lines(job.changes.swaps)]
    if job.changes.left:
        lines += ["", "  copper that leaves the board:", _left_table(job)]
    pins = ", ".join(f"{move.part}:{move.pin}" for move in job.changes.moves)
    lines += ["", *wrapped(f"pins to edit in the schematic: {shown(pins)}"), *after]
    return "\n".join([*lines, *caution_lines(True, bool(plan))])


def caution_lines(moved: bool, planned: bool = False) -> list[str]:
    """What stands below a result in which pins moved or tracks were planned."""
    return [
        line
        for caution in cautions(moved=moved, planned=planned)
        for line in wrapped(f"caution: {caution}")
    ]


def before_after(before: Figures, after: Figures) -> str:
    """The four figures side by side."""
    rows: list[Sequence[object]] = [("", "before", "after")]
    rows += [
        (label.replace("_", " "), _number(old), _number(new))
        for label, old, new in zip(Figures._fields, before, after, strict=True)
    ]
    return table(rows, right=[1, 2], indent=4)


def bound_words(job: Job) -> str:
    """How far the result can still be from the best."""
    found, bound = job.tangle.figures.crossings, job.result.bound
    if job.result.proved_optimal:
        return f"proved: no choice within this freedom has fewer than {found} crossings"
    return f"not proved best: at least {bound.crossings} crossings remain whatever is chosen"


def swap_lines(swaps: Iterable[Swap]) -> list[str]:
    """One block per swap: its worth alone and without it, then its moves."""
    lines = []
    for swap in swaps:
        count = len(swap.moves)
        lines.append(f"  swap {swap.id}: {count} pin{_s(count)}")
        if swap.alone is not None:
            lines.append(f"    alone    {figures_words(swap.alone)}")
        if swap.lost_without is not None:
            lines.append(f"    without  {figures_words(swap.lost_without)}")
        rows = [
            (f"{m.part}:{m.pin}", m.name, net_shown(m.was), "->", net_shown(m.is_))
            for m in swap.moves
        ]
        lines.append(table(rows, indent=6))
    return lines


def figures_words(figures: Figures) -> str:
    """A difference in words, zeros left out; length always."""
    words = [
        f"{value:+d} {label.replace('_', ' ')}"
        for label, value in zip(Figures._fields[:3], figures[:3], strict=True)
        if value
    ]
    return ", ".join([*words, f"{figures.length_mm:+.1f} mm"])


def _left_table(job: Job) -> str:
    rows: list[Sequence[object]] = [("net", "tracks", "vias", "fills")]
    rows += [(net_shown(x.net or None), x.tracks, x.vias, x.fills) for x in job.changes.left]
    return table(rows, right=[1, 2, 3], indent=4)


def _worst(board: Board, scene: Scene) -> list[str]:
    net = scene.tangle.connections.net
    counts = Counter(net[scene.tangle.crossings.reshape(-1)].tolist())
    worst = sorted(counts.items(), key=lambda item: (-item[1], item[0]))[:_MANY]
    if not worst:
        return []
    return ["  most crossed: " + ", ".join(f"{shown(board.nets[n])} {c}" for n, c in worst)]


def _reasons(title: str, pairs: Sequence[tuple[str, str]]) -> list[str]:
    if not pairs:
        return []
    rows = [(label, why) for label, why in pairs[: 2 * _MANY]]
    more = len(pairs) - len(rows)
    return [f"  {title}:", table(rows, indent=4)] + ([f"    and {more} more"] if more else [])


def _some(items: Sequence[str]) -> str:
    rest = len(items) - _MANY
    return ", ".join(items[:_MANY]) + (f" and {rest} more" if rest > 0 else "")


def _number(value: float) -> str:
    return f"{value:.1f}" if isinstance(value, float) else str(value)


def changes_text(changes: ChangeList) -> str:
    """A change list for a reviewer."""
    if not changes.swaps:
        return "no pin differs"
    count, moves = len(changes.swaps), len(changes.moves)
    nets = {net for move in changes.moves for net in (move.was, move.is_) if net is not None}
    lines = [f"{count} swap{_s(count)}, {moves} pins, {len(nets)} nets touched"]
    return "\n".join([*lines, *swap_lines(changes.swaps)])


def applied_text(changes: ChangeList, out: str) -> str:
    """What ``apply`` did."""
    count = len(changes.swaps)
    lines = [f"{shown(out)}: {count} swap{_s(count)}, {len(changes.moves)} pins moved, verified"]
    return "\n".join([*lines, *caution_lines(moved=bool(changes.moves))])


def verdict_text(verdict: Verdict) -> str:
    """The second opinion: first the answer, then every finding."""
    counts = asdict(verdict.counts)
    checked = ", ".join(f"{n} {k.replace('_', ' ')}" for k, n in counts.items() if n)
    moved = len(verdict.moved)
    if verdict.ok:
        lines = [f"yes: {moved} pin{_s(moved)} moved, all as permitted, and nothing else differs"]
    else:
        lines = [f"no: {len(verdict.findings)} finding{_s(len(verdict.findings))}"]
        lines += [f"  {shown(finding)}" for finding in verdict.findings]
    return "\n".join([*lines, f"  checked: {checked}"])


def _s(count: int) -> str:
    return "" if count == 1 else "s"
