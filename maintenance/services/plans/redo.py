"""What has to be done again when new work turns up behind it."""

from collections.abc import Sequence

from maintenance.planning.jobs import Hold
from maintenance.planning.order import Prerequisite

#: Once passed an inspection is not made again for work that came to light later.
_STANDS = ("roadworthiness_inspection", "roadworthiness_re_inspection")


def undone(steps: Sequence[Prerequisite], holds: Sequence[Hold], done: set[str]) -> set[str]:
    """Return the finished jobs that new work calls for once more.

    What by the rules of the trade comes after a job is done after it: where a hose turns up when
    the brakes are bled already, they are bled again. An axle that was lowered is raised again for
    what is to be done behind its wheels. That an axle was raised for finished work goes without
    saying.
    """
    finished = {key for key in done if not key.startswith(_STANDS)}
    openers = {hold.opener for hold in holds}
    telling = [step for step in steps if step.before not in openers]
    again: set[str] = set()
    while True:
        before = len(again)
        again |= {step.after for step in telling if step.before not in done - again} & finished
        again |= {hold.opener for hold in holds if hold.closer in again} & finished
        if len(again) == before:
            return again


def implied(
    steps: Sequence[Prerequisite], holds: Sequence[Hold], done: set[str]
) -> dict[str, set[str]]:
    """Return jobs that must have been done, each with the finished jobs that tell.

    An axle that was lowered had been raised, whether or not anybody wrote it down. Where neither
    was written down and all that lies behind its wheels is done, nothing is left to raise it for.
    """
    found = {
        hold.opener: {hold.closer}
        for hold in holds
        if hold.closer in done and hold.opener not in done
    }
    for hold in holds:
        inside = _inside(hold, steps)
        if hold.unrecorded and inside <= done and not done & {hold.opener, hold.closer}:
            found |= {hold.opener: inside, hold.closer: inside}
    return found


def _inside(hold: Hold, steps: Sequence[Prerequisite]) -> set[str]:
    after = {step.after for step in steps if step.before == hold.opener}
    return after & {step.before for step in steps if step.after == hold.closer}
