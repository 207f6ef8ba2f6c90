"""When each learner's sheets are due: at everybody's time, or at one that the class list gives them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from labkit.reports.marks import Due
from labkit.sheets import Learner

__all__ = ["due_times"]


def due_times(learners: Iterable[Learner], everybody: datetime | None) -> dict[str, Due]:
    """Return by id when each learner's sheets are due; of a pair the later time holds for each.

    Parameters
    ----------
    learners : iterable of Learner
    everybody : datetime or None
        The time of those who have none of their own; None: they are never late.
    """
    together: defaultdict[tuple[str, ...], list[Learner]] = defaultdict(list)
    for learner in learners:
        together[(learner.group, learner.pair) if learner.pair else (learner.id,)].append(learner)
    due: dict[str, Due] = {}
    for members in together.values():
        times = [learner.due or everybody for learner in members]
        latest = None if None in times else max(time for time in times if time)
        at = latest.isoformat(timespec="seconds") if latest else ""
        due |= {learner.id: Due(at, own=latest != everybody) for learner in members}
    return due
