"""One objective after the other, each kept while the next is improved."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from time import monotonic

from ortools.sat.python import cp_model

from maintenance.planning.errors import PlanningError
from maintenance.planning.problem import Settings

#: Part of the remaining effort that an objective may use.
SHARE = 0.5
#: Deterministic time and conflicts that make a unit of effort; whichever is used up first ends it.
TIME_A_UNIT = 0.25
CONFLICTS_A_UNIT = 1000
#: Effort to work out what follows from the decisions of a plan, and the least for an objective.
EFFORT_TO_FOLLOW = 1.0
LEAST_EFFORT = 0.05
LEAST_SECONDS = 0.05


@dataclass(frozen=True, slots=True)
class Objective:
    """Something to be made as small as can be.

    Parameters
    ----------
    name, unit : str
        What, and in what it is told.
    expression : LinearExprT
        What the solver minimises.
    tell : callable
        From the solver's figure to the figure told, such as from slots to days.
    most : float
        Largest part of the whole effort that it is worth.

    References
    ----------
    .. [1] Common practice.
    """

    name: str
    unit: str
    expression: cp_model.LinearExprT
    tell: Callable[[int], int] = int
    most: float = 1.0


@dataclass(frozen=True, slots=True)
class Reached:
    """What the search found.

    Parameters
    ----------
    values : tuple of int
        Value of every variable of the model.
    results : tuple of (int, int)
        For each objective the value reached and the proven bound, in the solver's figures.
    cut_short : bool
        Whether the clock ended it.

    References
    ----------
    .. [1] OR-Tools CP-SAT, response.
    """

    values: tuple[int, ...]
    results: tuple[tuple[int, int], ...]
    cut_short: bool


def solver_for(settings: Settings, effort: float) -> cp_model.CpSolver:
    """Solver whose answer depends on the problem and the settings alone.

    Parameters
    ----------
    settings : Settings
        Seed, workers and emergency stop.
    effort : float
        Work allowed [units of effort].

    Returns
    -------
    CpSolver
        Ready to solve.

    References
    ----------
    .. [1] OR-Tools CP-SAT parameters.
    """
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = settings.seed
    solver.parameters.max_deterministic_time = effort * TIME_A_UNIT
    solver.parameters.max_number_of_conflicts = int(effort * CONFLICTS_A_UNIT)
    solver.parameters.cp_model_probing_level = 0  # costs seconds on 120 jobs and finds little
    solver.parameters.max_time_in_seconds = settings.seconds
    solver.parameters.num_workers = settings.workers
    # Without turns, several workers race each other and the winner depends on the machine.
    solver.parameters.interleave_search = settings.workers > 1
    return solver


def until(stop: float, settings: Settings) -> Settings:
    """Settings for the time that is left.

    Parameters
    ----------
    stop : float
        When the clock ends the search, on the monotonic clock [s].
    settings : Settings
        Seed and effort.

    Returns
    -------
    Settings
        The same with the seconds left; a moment where none are, to take what is found at once.

    References
    ----------
    .. [1] Common practice.
    """
    return replace(settings, seconds=max(stop - monotonic(), LEAST_SECONDS))


def minimise_in_turn(
    cp: cp_model.CpModel,
    objectives: Sequence[Objective],
    settings: Settings,
    decisions: Sequence[cp_model.IntVar] = (),
) -> Reached | None:
    """Minimise each objective while keeping what those before it reached.

    Parameters
    ----------
    cp : CpModel
        The constraints; gets the values reached as further constraints.
    objectives : sequence of Objective
        In the order in which they count.
    settings : Settings
        Seed and effort.
    decisions : sequence of IntVar
        Variables that make a plan; all others follow from them. May be hinted.

    Returns
    -------
    Reached or None
        None where the constraints can't hold together.

    Raises
    ------
    PlanningError
        Where neither a plan nor a proof of impossibility was found with the effort allowed.

    References
    ----------
    .. [1] Common practice: lexicographic optimisation.
    """
    values: tuple[int, ...] = ()
    results: list[tuple[int, int]] = []
    left, cut_short = settings.effort, False
    stop = monotonic() + settings.seconds
    for objective in objectives:
        cp.minimize(objective.expression)
        values = _followed(cp, decisions, values, settings)
        settings = until(stop, settings)
        effort = min(left * SHARE, settings.effort * objective.most)
        solver = solver_for(settings, max(effort, LEAST_EFFORT))
        status = solver.status_name(solver.solve(cp))
        if status == "INFEASIBLE" and not results:
            return None
        if status == "MODEL_INVALID":
            raise RuntimeError(f"the model of {objective.name!r} is invalid: {cp.validate()}")
        left -= _spent(solver)
        cut_short |= status != "OPTIMAL" and monotonic() >= stop
        if status in ("OPTIMAL", "FEASIBLE"):
            values = tuple(solver.response_proto.solution)
        elif not values:
            raise PlanningError(
                "no plan was found, and none is ruled out: ask for less, such as a later day, more "
                "hours or fewer jobs"
            )
        value = _value(cp, values)
        results.append((value, min(value, round(solver.best_objective_bound))))
        cp.add(objective.expression <= value)
    return Reached(values, tuple(results), cut_short)


def _spent(solver: cp_model.CpSolver) -> float:
    time = solver.response_proto.deterministic_time / TIME_A_UNIT
    return max(time, solver.num_conflicts / CONFLICTS_A_UNIT)


def _followed(
    cp: cp_model.CpModel,
    decisions: Sequence[cp_model.IntVar],
    values: tuple[int, ...],
    settings: Settings,
) -> tuple[int, ...]:
    """Values of all variables that follow from the plan in hand, or from one that is hinted.

    The search then begins at what the plan is worth: without this it may look long for what the
    serial scheme has found already, and days of hire stay as loose as the last objective left
    them.
    """
    if values:
        # A variable hinted twice makes the whole model invalid.
        _hint(cp, sorted({one.index for one in decisions}), values)
    if not cp.proto.solution_hint.vars:
        return values
    solver = solver_for(settings, EFFORT_TO_FOLLOW)
    solver.parameters.fix_variables_to_their_hinted_value = True
    if solver.status_name(solver.solve(cp)) in ("OPTIMAL", "FEASIBLE"):
        values = tuple(solver.response_proto.solution)
        _hint(cp, range(len(values)), values)
    return values


def _hint(cp: cp_model.CpModel, variables: Sequence[int], values: Sequence[int]) -> None:
    cp.proto.solution_hint.Clear()
    cp.proto.solution_hint.vars.extend(variables)
    cp.proto.solution_hint.values.extend(values[variable] for variable in variables)


def _value(cp: cp_model.CpModel, values: Sequence[int]) -> int:
    """Value of the objective now set in the model, for the given values of the variables."""
    objective = cp.proto.objective
    total = sum(
        coefficient * values[variable]
        for variable, coefficient in zip(objective.vars, objective.coeffs, strict=True)
    )
    return int(total + round(objective.offset))
