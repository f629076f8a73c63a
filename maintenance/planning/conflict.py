"""Why there is no plan: the smallest set of demands that can't hold together."""

from collections.abc import Sequence
from dataclasses import dataclass
from time import monotonic

from ortools.sat.python import cp_model

from maintenance.planning.demands import Demand
from maintenance.planning.problem import Settings
from maintenance.planning.solving import solver_for, until

#: Effort for one question whether some demands can hold together.
EFFORT_A_QUESTION = 0.5
#: Most questions asked where the solver can't name a core by itself.
MOST_QUESTIONS = 24
#: Most demands listed in a sentence where it is not proven which of them are too much.
MOST_LISTED = 12


@dataclass(frozen=True, slots=True)
class Conflict:
    """Demands that can't hold together.

    Parameters
    ----------
    demands : tuple of Demand
        The set.
    smallest : bool
        Whether it is proven that the others of them can hold together once any one is given up.

    References
    ----------
    .. [1] Chinneck, J. W. & Dravnieks, E. W. (1991), Locating minimal infeasible constraint sets
       in linear programs, ORSA J. Computing 3(2): the deletion filter.
    """

    demands: tuple[Demand, ...]
    smallest: bool

    @property
    def words(self) -> str:
        """The conflict as a sentence."""
        if self.smallest or len(self.demands) <= MOST_LISTED:
            listed = "; ".join(demand.words for demand in self.demands)
            return f"These can't hold together: {listed}. Give up or change at least one of them."
        listed = "; ".join(demand.words for demand in self.demands[-MOST_LISTED:])
        return (
            f"Among {len(self.demands)} demands are some that can't hold together, and it is not "
            f"proven which. Those least easily given up are: {listed}. Give up or change some."
        )

    @property
    def jobs(self) -> tuple[str, ...]:
        """Ids of the jobs that stand in the way."""
        return tuple(demand.subject for demand in self.demands if demand.kind == "job")


def smallest_conflict(
    cp: cp_model.CpModel,
    demands: Sequence[tuple[Demand, cp_model.IntVar]],
    settings: Settings,
) -> Conflict:
    """Find a set of demands that can't hold together and that can't be made smaller.

    Parameters
    ----------
    cp : CpModel
        Constraints in which each demand is switched on by its literal; no objective.
    demands : sequence of (Demand, literal)
        Known to be too much together. Those tried first are the first to be found needless.
    settings : Settings
        Seed, and the clock's stop; one worker is used.

    Returns
    -------
    Conflict
        Not called the smallest where some demand may be needless.

    Notes
    -----
    Each question is limited in effort. A demand whose needlessness is not proven in time stays in
    the set, which is then not called the smallest. Where the solver names no core at all, parts of
    the demands are left out as long as it can refute the others.

    References
    ----------
    .. [1] Chinneck, J. W. & Dravnieks, E. W. (1991), ORSA J. Computing 3(2).
    """
    stop = monotonic() + settings.seconds
    kept = _core(cp, list(demands), settings)[1]
    if kept is None:
        thinned = _thinned(cp, list(demands), settings, stop)
        return Conflict(tuple(demand for demand, _ in thinned), smallest=False)
    smallest = True
    for tried in list(kept):
        if tried not in kept:
            continue
        left = until(stop, settings)
        status, core = _core(cp, [pair for pair in kept if pair is not tried], left)
        if core is not None:
            kept = core
        elif status == "UNKNOWN":
            smallest = False
    return Conflict(tuple(demand for demand, _ in kept), smallest)


_Pairs = list[tuple[Demand, cp_model.IntVar]]


def _core(cp: cp_model.CpModel, demands: _Pairs, settings: Settings) -> tuple[str, _Pairs | None]:
    """Ask whether some demands can hold together; if not, which of them suffice for that."""
    cp.clear_assumptions()
    cp.add_assumptions([literal for _, literal in demands])
    # Assumptions are understood by a single search only.
    solver = solver_for(Settings(settings.seed, seconds=settings.seconds), EFFORT_A_QUESTION)
    status = solver.status_name(solver.solve(cp))
    if status != "INFEASIBLE":
        return status, None
    enough = set(solver.sufficient_assumptions_for_infeasibility())
    core = [pair for pair in demands if pair[1].index in enough]
    return status, core


def _thinned(cp: cp_model.CpModel, demands: _Pairs, settings: Settings, stop: float) -> _Pairs:
    """Leave out halves, quarters and so on of the demands while the others stay refuted."""
    kept, size, left = demands, len(demands) // 2, MOST_QUESTIONS
    while size >= 1:
        place = 0
        while place < len(kept):
            if left == 0 or monotonic() >= stop:
                return kept
            left -= 1
            others = kept[:place] + kept[place + size :]
            if others and _refuted(cp, others, until(stop, settings)):
                kept = others
            else:
                place += size
        size //= 2
    return kept


def _refuted(cp: cp_model.CpModel, demands: _Pairs, settings: Settings) -> bool:
    """Ask whether some demands can't hold together, as facts: then the solver may simplify."""
    asked = cp.clone()
    asked.clear_assumptions()
    for _, literal in demands:
        asked.add(asked.get_bool_var_from_proto_index(literal.index) == 1)
    solver = solver_for(Settings(settings.seed, seconds=settings.seconds), EFFORT_A_QUESTION)
    return bool(solver.status_name(solver.solve(asked)) == "INFEASIBLE")
