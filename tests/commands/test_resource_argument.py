"""What a workshop has or hires, as it is written on the command line."""

from argparse import ArgumentTypeError
from decimal import Decimal

import pytest

from maintenance.management.resources import resource
from maintenance.services.plans.terms import ResourceDraft


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("press", {}),
        ("axle stands:2", {"capacity": 2}),
        ("lift:1:80", {"daily_cost": Decimal(80)}),
        ("rented place:1:25.50:span", {"daily_cost": Decimal("25.50"), "whole_span": True}),
        ("rented place:span", {"whole_span": True}),
        ("flaring tool:1:6:for=brake-pipe, brake-hose",
         {"daily_cost": Decimal(6), "used_for": ("brake-pipe", "brake-hose")}),
    ],
)  # fmt: skip
def test_a_resource_is_written_with_count_and_cost_a_day(text, said):
    assert resource(text) == ResourceDraft(name=text.split(":")[0], **said)


@pytest.mark.parametrize("text", ["", ":2", "lift:one", "lift:1:dear", "lift:1:2:3"])
def test_what_is_written_otherwise_is_refused_with_an_example(text):
    with pytest.raises(ArgumentTypeError, match="lift:1:80"):
        resource(text)
