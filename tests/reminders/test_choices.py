"""Members choose how they are told; what can't be chosen is refused by name."""

import datetime

import pytest

from maintenance.models import ReminderPreference
from maintenance.services.refusals import Outdated, Refused
from maintenance.services.reminders import (
    change_reminders,
    choose_reminders,
    forget_choice,
    unsubscribe,
)
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper():
    return factories.MemberFactory(role="keeper")


def refused_at(member, **choice):
    with pytest.raises(Refused) as refused:
        choose_reminders(member=member, choice=choice)
    assert not ReminderPreference.objects.exists()
    return [problem.pointer for problem in refused.value.problems]


def test_lead_times_are_kept_once_each_the_longest_first(keeper):
    chosen = choose_reminders(member=keeper, choice={"lead_days": [7, 30, 7, 0]})
    chosen.refresh_from_db()
    assert chosen.lead_days == [30, 7, 0]


def test_what_is_not_chosen_keeps_its_default(keeper):
    chosen = choose_reminders(member=keeper, choice={"digest": "weekly"})
    assert (chosen.channels, chosen.lead_days, chosen.quiet_from) == (
        ["email"],
        [60, 30, 7, 0],
        datetime.time(21),
    )


@pytest.mark.parametrize(
    ("choice", "pointer"),
    [
        ({"channels": ["email", "pigeon"]}, "/channels/1"),
        ({"lead_days": []}, "/lead_days"),
        ({"lead_days": [7, -1]}, "/lead_days/1"),
        ({"lead_days": [367]}, "/lead_days/0"),
        ({"lead_days": list(range(11))}, "/lead_days"),
        ({"digest": "monthly"}, "/digest"),
        ({"digest_hour": 24}, "/digest_hour"),
        ({"digest_weekday": 0}, "/digest_weekday"),
        ({"quiet_to": None}, "/quiet_to"),
        ({"time_zone": "Atlantis/Capital"}, "/time_zone"),
        ({"whole_collection": True}, "/whole_collection"),
    ],
)
def test_a_choice_that_makes_no_sense_is_refused_by_its_name(keeper, choice, pointer):
    assert refused_at(keeper, **choice) == [pointer]


def test_a_second_first_choice_is_refused(keeper):
    choose_reminders(member=keeper, choice={})
    with pytest.raises(Refused, match="chosen before"):
        choose_reminders(member=keeper, choice={})


def test_a_choice_changed_by_someone_else_meanwhile_is_not_overwritten(keeper):
    chosen = choose_reminders(member=keeper, choice={})
    change_reminders(preference=chosen, version=1, changes={"digest": "none"})
    with pytest.raises(Outdated):
        change_reminders(preference=chosen, version=1, changes={"digest": "weekly"})


def test_a_choice_that_is_forgotten_leaves_the_defaults(keeper):
    chosen = choose_reminders(member=keeper, choice={"channels": []})
    forget_choice(preference=chosen, version=1)
    assert not ReminderPreference.objects.exists()


def test_to_unsubscribe_stops_that_channel_alone_and_may_be_done_twice(keeper):
    choose_reminders(member=keeper, choice={"channels": ["email", "webhook"]})
    assert unsubscribe(member=keeper.pk, channel="email") is True
    assert unsubscribe(member=keeper.pk, channel="email") is True
    chosen = ReminderPreference.objects.get()
    assert (chosen.channels, chosen.version) == (["webhook"], 2)


def test_a_member_who_never_chose_can_unsubscribe(keeper):
    unsubscribe(member=keeper.pk, channel="email")
    assert ReminderPreference.objects.get(member=keeper).channels == []
