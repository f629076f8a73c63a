"""Redis, PostgreSQL or the mail server goes away and comes back."""

import time

from maintenance.models import Message, Reminder
from tests.faults.due_rows import all_sent, find, keeper_of_due_items, let_back_off_pass, states
from tests.faults.processes import wait_for


def _report(what, sink, count):
    sent, arrived = states(), set(sink.arrived)
    print(f"\n{what}: {sent}; arrived {len(arrived)} of {count}, twice {len(sink.twice)}")


def test_what_falls_due_while_redis_is_away_is_sent_when_it_is_back(celery, sink, redis):
    redis.stop()
    find(keeper_of_due_items(20))
    time.sleep(3)
    waiting = states()
    redis.start()
    wait_for(_all_sent_by_those_kept_up(celery, 20), "all twenty to be sent", 90)
    _report(f"Redis stopped and started, {waiting} while it was away", sink, 20)
    assert waiting == {"waiting": 20}
    assert len(sink.arrived) == len(set(sink.arrived)) == 20


def test_hints_lost_with_everything_in_redis_lose_no_reminder(celery, sink, redis):
    sink.delay = 0.1
    find(keeper_of_due_items(20))
    for _ in range(10):
        redis.flush()
        time.sleep(0.2)
    wait_for(lambda: all_sent(20), "all twenty to be sent", 90)
    _report("Redis emptied ten times", sink, 20)
    assert len(sink.arrived) == len(set(sink.arrived)) == 20


def test_a_restart_of_postgresql_in_the_middle_of_sending_loses_and_doubles_nothing(
    celery, sink, postgres
):
    sink.delay = 0.05
    find(keeper_of_due_items(60))
    sink.wait_for(10)
    postgres.restart()
    after = len(sink.arrived)
    wait_for(_all_sent_by_then(60), "all sixty to be sent", 90)
    _report(f"PostgreSQL restarted after {after}", sink, 60)
    assert after < 60
    assert len(sink.arrived) == len(set(sink.arrived)) == 60


def test_a_mail_server_that_is_down_only_delays(celery, sink):
    sink.stop()
    find(keeper_of_due_items(20))
    wait_for(lambda: Message.objects.filter(failures__gt=0).exists(), "a failure")
    error = Message.objects.filter(failures__gt=0).first().last_error
    sink.start()
    wait_for(_sent_when_the_wait_is_over(20), "all twenty to be sent")
    _report(f"SMTP down ({error})", sink, 20)
    assert "ConnectionRefusedError" in error
    assert len(sink.arrived) == len(set(sink.arrived)) == 20


def test_a_mail_server_that_says_not_now_is_asked_again(celery, sink):
    sink.refuse = "451 4.3.0 try again later"
    find(keeper_of_due_items(5))
    wait_for(lambda: Message.objects.filter(failures__gt=0).count() == 5, "five failures")
    errors = set(Message.objects.values_list("last_error", flat=True))
    sink.refuse = ""
    wait_for(_sent_when_the_wait_is_over(5), "all five to be sent")
    _report(f"SMTP said {errors}", sink, 5)
    assert errors == {"451 4.3.0 try again later"}
    assert len(sink.arrived) == len(set(sink.arrived)) == 5


def test_a_mail_refused_for_good_is_kept_for_an_officer_to_see(celery, sink):
    sink.refuse = "554 5.7.1 <someone@harrowmere.example> is not wanted here"
    find(keeper_of_due_items(5))
    wait_for(lambda: states() == {"undelivered": 5}, "five to be given up")
    reminders = set(Reminder.objects.values_list("state", flat=True))
    error = Message.objects.first().last_error
    _report(f"SMTP refused for good: {error}", sink, 0)
    assert reminders == {"undelivered"}
    assert error == "554 5.7.1 <<address>> is not wanted here"


def test_a_slow_mail_server_is_waited_for_and_gets_nothing_twice(celery, sink):
    # Longer together than the lease of 20 s on what was claimed together.
    sink.delay = 1.0  # [s]
    find(keeper_of_due_items(22))
    wait_for(lambda: all_sent(22), "all twenty-two to be sent")
    _report("SMTP slow, 1 s a mail", sink, 22)
    assert len(sink.arrived) == len(set(sink.arrived)) == 22


def test_a_mail_server_that_hangs_up_in_the_middle_of_a_mail_gets_it_once(celery, sink):
    sink.hang_up = 3
    find(keeper_of_due_items(5))
    wait_for(lambda: Message.objects.filter(failures__gt=0).count() == 3, "three failures")
    wait_for(_sent_when_the_wait_is_over(5), "all five to be sent")
    _report("SMTP hung up in the middle of 3 mails", sink, 5)
    assert len(sink.arrived) == len(set(sink.arrived)) == 5


def _all_sent_by_those_kept_up(celery, count):
    def answer():
        celery.start_what_ended()
        return all_sent(count)

    return answer


def _all_sent_by_then(count):
    """Return a question that can be asked while the database restarts."""

    def answer():
        from django.db import InterfaceError, OperationalError, connection

        try:
            return all_sent(count)
        except (InterfaceError, OperationalError):
            connection.close()
            return False

    return answer


def _sent_when_the_wait_is_over(count):
    def answer():
        let_back_off_pass()
        return all_sent(count)

    return answer
