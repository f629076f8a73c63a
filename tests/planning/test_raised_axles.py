"""An axle is raised by its name, and only for what hangs on it."""

from tests.planning.rules import fitted, ids, made_of, wanted


def raised(*places):
    return [job.position for job in made_of([], *map(wanted, places)).jobs if job.task == "raise"]


def test_no_axle_is_raised_for_the_spare_wheel():
    assert raised("tyre spare") == []


def test_a_boot_whose_place_names_no_axle_is_on_the_driven_one():
    assert raised("half-shaft-boot left") == ["driven"]


def test_what_steers_is_at_the_front():
    assert raised("track-rod-end left", "tyre front right") == ["front"]


def test_where_nothing_tells_the_axle_it_is_told_so():
    assert raised("tyre") == ["one after the other"]


def test_an_axle_named_in_the_place_is_that_one():
    assert raised("half-shaft rear left") == ["rear"]


def test_boots_left_and_right_are_reached_by_raising_once():
    order = ids(fitted(), wanted("half-shaft-boot left"), wanted("half-shaft-boot right"))
    assert [job for job in order if "raise" in job] == ["raise axle driven"]
