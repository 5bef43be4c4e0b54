"""The main job by either objective: straight lines that cross least, or the best channel plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from renet.errors import InputError

if TYPE_CHECKING:  # start-up counts, and the planner is loaded only where it is asked for
    from renet.orthogonal.job import Comparison
    from renet.pipeline import Inputs, Job, Observer, Options

CROSSINGS, CHANNELS = OBJECTIVES = ("crossings", "channels")


def untangle_by(
    objective: str, inputs: Inputs, options: Options, observer: Observer
) -> tuple[Job, Comparison | None]:
    """The main job by one of ``OBJECTIVES``; what was compared, where plans were."""
    if objective == CHANNELS:
        from renet.orthogonal.job import untangle_channels

        refuse_frontier(objective, options)
        return untangle_channels(inputs, options, observer)
    from renet.pipeline import untangle

    return untangle(inputs, options, observer), None


def refuse_frontier(objective: str, options: Options) -> None:
    """InputError where the frontier, which counts crossings, is asked of a plan."""
    if objective == CHANNELS and options.frontier:
        raise InputError("--frontier counts crossings", "leave out --objective channels")


def blocked_by_plan(inputs: Inputs, job: Job, options: Options, observer: Observer) -> int:
    """How many nets the channel plan of the result leaves blocked."""
    from renet.channels.job import blocked_after  # half a second, which plain boards do not pay

    return blocked_after(inputs, job, options, observer)
