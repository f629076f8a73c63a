from datetime import date, time

import pytest

from maintenance.planning.errors import PlanningError
from maintenance.planning.working_calendar import Person, Shift, Span, working_grid
from tests.planning.plans import ADA, SATURDAY


def test_only_the_days_on_which_somebody_works_are_on_the_grid():
    grid = working_grid([ADA], SATURDAY, date(2030, 3, 17))

    assert grid.days == (date(2030, 3, 2), date(2030, 3, 9), date(2030, 3, 16))
    assert grid.slots == 3 * 16


def test_a_holiday_takes_a_person_off_the_grid_and_a_closure_takes_everybody():
    away = Person("Cem", ADA.shifts, away=(Span(SATURDAY, SATURDAY),))
    shut = [Span(date(2030, 3, 9), date(2030, 3, 9))]

    grid = working_grid([ADA, away], SATURDAY, date(2030, 3, 17), shut)

    assert grid.days == (SATURDAY, date(2030, 3, 16))
    assert not any(grid.present["Cem"][:16])
    assert all(grid.present["Cem"][16:])


def test_slots_are_whole_and_inside_the_shift():
    odd = Person("Dee", (Shift(5, time(9, 10), time(10, 45)),))

    grid = working_grid([odd], SATURDAY, SATURDAY)

    assert [grid.start_moment(slot).at for slot in range(grid.slots)] == [time(9, 30), time(10)]


def test_a_job_ends_on_the_evening_of_the_day_that_holds_its_last_slot():
    grid = working_grid([ADA], SATURDAY, date(2030, 3, 17))

    assert grid.end_moment(16).day == SATURDAY
    assert grid.end_moment(16).at == time(17)
    assert grid.day_of_end(17) == date(2030, 3, 9)


@pytest.mark.parametrize(
    ("people", "words"),
    [
        ([], "nobody works"),
        ([ADA, ADA], "share a name"),
        ([Person("Eli", (Shift(7),))], "is no shift"),
        ([Person("Eli", (Shift(1, time(9), time(9)),))], "is no shift"),
    ],
)
def test_a_calendar_that_makes_no_sense_says_why(people, words):
    with pytest.raises(PlanningError, match=words):
        working_grid(people, SATURDAY, date(2030, 3, 17))
