"""A worker is killed with SIGKILL in the worst moment, and another carries on."""

from maintenance.models import Message
from tests.faults.due_rows import all_sent, find, keeper_of_due_items, states
from tests.faults.processes import wait_for


def test_a_worker_killed_between_claim_and_send_delays_the_reminder_and_no_more(celery, sink):
    sink.hold_still_at("hello")
    find(keeper_of_due_items(5))
    sink.wait_until_held()
    claimed = states()
    celery.kill(celery.worker())
    sink.go_on()
    celery.worker()
    wait_for(lambda: all_sent(5), "all five to be sent")
    print(f"\nclaimed when killed: {claimed}; arrived {len(sink.arrived)} of 5, twice {sink.twice}")
    assert claimed == {"claimed": 5}
    assert len(sink.arrived) == len(set(sink.arrived)) == 5
    assert not Message.objects.filter(unknown_outcomes__gt=0).exists()


def test_a_mail_taken_just_before_its_worker_is_killed_comes_again_under_the_same_identifier(
    celery, sink
):
    sink.hold_still_at("taken")
    find(keeper_of_due_items(5))
    sink.wait_until_held()
    celery.kill(celery.worker())
    sink.go_on()
    celery.worker()
    wait_for(lambda: all_sent(5), "all five to be sent")
    first, again = (each for each in sink.messages if each["Message-ID"] in sink.twice)
    print(f"\narrived {len(set(sink.arrived))} of 5; again, known by Message-ID: {len(sink.twice)}")
    assert len(set(sink.arrived)) == 5
    assert len(sink.arrived) == 6
    assert _as_read(first) == _as_read(again)
    assert Message.objects.get(unknown_outcomes=1).state == "sent"


def _as_read(mail):
    text = mail.get_body(("plain",)).get_content()
    return mail["Date"], mail["Subject"], mail["To"], text
