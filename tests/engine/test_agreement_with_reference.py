"""Whatever cars have been through, the engine and the day-walking reference say the same of them.

The ordinary run makes the same cars each time, some two thousand. GENERATED_FLEETS asks for so
many other fleets, and for the simplest on which the two disagree, which can take minutes.
"""

import os

from hypothesis import HealthCheck, Phase, given, settings

from tests.engine.agreement import ask_engine, ask_reference, differences
from tests.strategies import fleets

ORDINARY = "GENERATED_FLEETS" not in os.environ
FLEETS = int(os.environ.get("GENERATED_FLEETS", "550"))
generated = settings(
    deadline=None,
    derandomize=ORDINARY,
    phases=[Phase.explicit, Phase.generate] if ORDINARY else tuple(Phase),
    # A whole car is a large thing to draw, and slow beside a number.
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@settings(generated, max_examples=FLEETS)
@given(fleets(at_least=1, at_most=6))
def test_cars_fall_due_on_the_days_that_walking_through_their_lives_gives(fleet):
    for case, items in zip(fleet, ask_engine(fleet), strict=True):
        others = ask_reference(case)
        assert not (found := differences(items, others)), "\n".join(found)
        assert len(items) == len(others)


@settings(generated, max_examples=max(1, FLEETS // 9))
@given(fleets(at_least=2, at_most=6))
def test_a_car_gets_the_same_answer_alone_in_a_chunk_and_in_the_whole_fleet(fleet):
    whole = ask_engine(fleet)
    half = len(fleet) // 2
    assert [*ask_engine(fleet[:half]), *ask_engine(fleet[half:])] == whole
    assert [items for case in fleet for items in ask_engine([case])] == whole
