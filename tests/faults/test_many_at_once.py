"""Two beats, and ten thousand reminders on one day."""

import datetime
import re
import time
from collections import Counter

from django.db import transaction

from maintenance.models import Reminder
from maintenance.queries.today import this_instant
from tests.faults.due_rows import all_sent, club, find, keeper_of_due_items, states
from tests.faults.processes import wait_for

DIGESTS, LINES, ALONE = 190, 50, 500
LONGEST = 240.0
"""Seconds for ten thousand reminders on two cores that have other work as well."""


def test_two_beats_double_the_hints_and_nothing_else(celery, sink):
    second = celery.second_beat()
    wait_for(lambda: celery.said(second).count("Sending due task") > 3, "the second beat to send")
    keeper_of_due_items(50)
    wait_for(lambda: all_sent(50), "all fifty to be found and sent")
    time.sleep(3)
    print(f"\ntwo beats: {states()}; arrived {len(set(sink.arrived))} of 50, twice {sink.twice}")
    assert Reminder.objects.count() == 50
    assert len(sink.arrived) == len(set(sink.arrived)) == 50


def test_ten_thousand_reminders_at_once_are_each_told_once_in_bounded_time(celery, sink):
    """As members have it by default, in daily digests, and some who want each by itself."""
    mails = DIGESTS + ALONE
    # In one transaction, so that the beat that runs beside it does not find them first.
    with transaction.atomic():
        collection = club()
        for _ in range(DIGESTS):
            keeper_of_due_items(LINES, collection=collection, digest="daily", due_in=3)
        member = keeper_of_due_items(ALONE, collection=collection, due_in=3)
        begun = time.monotonic()
        # Found yesterday, so that the hour of every digest has come and all are ready together.
        found = find(member, at=this_instant() - datetime.timedelta(hours=25))
        looked = time.monotonic() - begun
    wait_for(lambda: all_sent(mails), f"all {mails} mails", LONGEST, every=0.5)
    took = time.monotonic() - begun
    told = Counter(item for mail in sink.messages for item in _items_in(mail))
    print(
        f"\n{found.made} reminders found in {looked:.1f} s, all told by {len(sink.arrived)} mails "
        f"after {took:.1f} s; told twice {sum(count > 1 for count in told.values())}; {states()}"
    )
    assert len(sink.arrived) == len(set(sink.arrived)) == mails
    assert len(told) == 10_000
    assert set(told.values()) == {1}


def _items_in(mail):
    return re.findall(r"due-items/([0-9a-f-]{36})", mail.get_body(("plain",)).get_content())
