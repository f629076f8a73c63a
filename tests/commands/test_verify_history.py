import io
import json

import pytest
from django.core.management import CommandError, call_command

from maintenance.models import LayUp
from maintenance.services.drafts import LayUpDraft
from maintenance.services.erasure import erase_account
from maintenance.services.evidence import withdraw
from maintenance.services.lay_ups import end_lay_up, lay_up
from tests.factories import MemberFactory, OdometerReadingFactory, VehicleFactory
from tests.services.asking import day


@pytest.fixture
def car(db, now, today):
    car = VehicleFactory(registration="HM 7")
    draft = LayUpDraft(from_on=day("2026-10-01"), storage="dry")
    lay_up(vehicle=car, draft=draft, by=None, at=now, today=today)
    return car


def run(*arguments):
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command("verify_history", *arguments, stdout=out, stderr=err)
    except SystemExit as ended:
        return ended.code, out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


def exported_head():
    out = io.StringIO()
    call_command("export_history", stdout=out)
    return json.loads(out.getvalue())["vehicles"][0]["history_head"]


def test_a_history_in_order_ends_with_status_0(car):
    assert run() == (0, "1 car, 1 record: all as recorded.\n", "")


def test_names_erased_from_a_history_are_counted(car, now, today):
    end = {"on": day("2026-11-01"), "by": None, "at": now, "today": today}
    end_lay_up(vehicle=car, **end)
    row = LayUp.objects.get(current=True)
    withdraw(record=row, reason="Ada Merrow says so.", by=None, at=now, today=today)
    member = MemberFactory(collection=car.collection, name="Ada Merrow")
    erase_account(account=member.account, by=None, at=now, today=today)
    status, told, _ = run()
    assert status == 0
    assert told.endswith("A name was erased in 1 text; each reads as its erasure says.\n")


def test_a_record_that_differs_is_named_and_ends_with_status_1(car):
    slipped_in = OdometerReadingFactory(vehicle=car)
    code, _, said = run("--vehicle", "HM 7")
    assert code == 1
    assert f"HM 7: inserted: odometer reading {slipped_in.pk}" in said


def test_the_head_that_an_export_carries_is_found_again(car):
    assert run("--vehicle", "HM 7", "--head", exported_head())[0] == 0


def test_a_head_that_stands_for_nothing_on_record_ends_with_status_1(car):
    code, _, said = run("--vehicle", "HM 7", "--head", "ab" * 32)
    assert (code, "gone or changed" in said) == (1, True)


def test_a_head_without_its_car_is_refused_with_status_2(car):
    with pytest.raises(CommandError) as refusal:
        run("--head", "ab" * 32)
    assert refusal.value.returncode == 2


def test_an_export_leaves_the_heads_out_if_asked(car):
    out = io.StringIO()
    call_command("export_history", "--without-heads", stdout=out)
    assert "history_head" not in out.getvalue()
