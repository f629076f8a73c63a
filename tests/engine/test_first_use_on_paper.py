"""First use after standing, worked out on paper beside each test."""

from tests.engine.on_paper import answer, event

SIX_MONTHS = {"task": "inspect", "before_use_after_months": 6}


def stood(start, to=None, expected_to=None):
    return {"from": start, "to": to, "expected_to": expected_to, "storage": "dry"}


def asked(on, lay_ups, renewed="2020-05-01"):
    return answer(on=on, rule=SIX_MONTHS, service_events=[event(renewed)], lay_ups=lay_ups)


def test_six_months_of_standing_make_it_due_on_the_day_of_return():
    item = asked("2021-04-20", [stood("2020-10-01", "2021-04-01")])
    assert (item["due_on"], item["governed_by"], item["status"]) == (
        "2021-04-01",
        "first_use",
        "overdue",
    )


def test_a_day_less_than_six_months_does_not():
    assert asked("2021-04-20", [stood("2020-10-01", "2021-03-31")])["due_on"] is None


def test_while_it_stands_it_is_for_before_use_without_a_day():
    item = asked("2021-04-20", [stood("2020-10-01")])
    assert (item["due_on"], item["status"]) == (None, "before_use")


def test_while_it_stands_the_expected_return_is_the_day():
    item = asked("2020-11-01", [stood("2020-10-01", expected_to="2021-04-01")])
    assert (item["due_on"], item["status"]) == ("2021-04-01", "before_use")


def test_standing_counts_from_work_done_during_the_lay_up():
    # 31 December and six months is 30 June, the month's last day; 1 January and six is 1 July.
    lay_ups = [stood("2020-10-01", "2021-06-30")]
    assert asked("2021-07-01", lay_ups, renewed="2021-01-01")["due_on"] is None
    assert asked("2021-07-01", lay_ups, renewed="2020-12-31")["due_on"] == "2021-06-30"


def test_lay_ups_that_touch_are_one_standing():
    lay_ups = [stood("2020-10-01", "2021-01-10"), stood("2021-01-10", "2021-04-01")]
    assert asked("2021-04-20", lay_ups)["due_on"] == "2021-04-01"
