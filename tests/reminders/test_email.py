"""The mail itself: what it says, and the headers that machines read."""

import datetime
import email
import email.policy
from email.utils import parsedate_to_datetime

import pytest
from django.core import mail

from maintenance.catalogue.load import catalogue
from maintenance.models import Message
from maintenance.reminders.unsubscribe import read_token
from tests import factories
from tests.reminders.told import NOW, find, item_due, preference_of, send

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mail_set_up")]


@pytest.fixture
def sent(settings):
    """Sends what the item's keeper is told and returns the mail as a reader parses it."""
    settings.PUBLIC_URL = "https://cars.harrowmere.example"

    def send_and_parse(item):
        preference_of(item.vehicle.keeper)
        find(item)
        send()
        raw = mail.outbox[-1].message().as_bytes()
        return email.message_from_bytes(raw, policy=email.policy.default)

    return send_and_parse


def cautions(kind):
    return " ".join(caution.text for caution in catalogue().cautions_for(kind))


def part(message, kind):
    return message.get_body((kind,)).get_content()


def test_the_subject_says_car_part_and_day(sent):
    item = item_due(30, position="front left", kind="tyre", task="inspect")
    assert sent(item)["Subject"] == (
        f"{item.vehicle.registration}: front left tyre inspection due 25 December 2026, in 30 days"
    )


def test_an_overdue_item_says_for_how_long(sent):
    item = item_due(-8, criticality_rank=0)
    assert sent(item)["Subject"].endswith("was due 17 November 2026, 8 days ago")


def test_a_paper_runs_out_where_work_falls_due(sent):
    member = factories.MemberFactory(role="keeper")
    car = factories.VehicleFactory(collection=member.collection, keeper=member)
    paper = factories.PaperFactory(vehicle=car, kind="vehicle-tax")
    item = item_due(
        7, member=member, vehicle=car, paper=paper, kind="vehicle-tax", governed_by="expiry"
    )
    assert sent(item)["Subject"] == (
        f"{car.registration}: vehicle tax runs out 2 December 2026, in 7 days"
    )


def test_work_before_use_says_so_with_the_day_of_the_return(sent):
    back = NOW.date() + datetime.timedelta(20)
    item = item_due(-10, laid_up_from=NOW.date() - datetime.timedelta(90), expected_to=back)
    assert sent(item)["Subject"].endswith("due before use on 15 December 2026, in 20 days")


def test_both_parts_give_the_criterion_the_caution_and_the_way_to_the_working(sent):
    item = item_due(30, sentence="24 months & a day.", caution="Brake fluid harms <paint>.")
    message = sent(item)
    link = f"https://cars.harrowmere.example/due-items/{item.pk}"
    for said in ("24 months & a day.", "Brake fluid harms <paint>.", link):
        assert said in part(message, "plain")
    for said in ("24 months &amp; a day.", "Brake fluid harms &lt;paint&gt;.", f'href="{link}"'):
        assert said in part(message, "html")


def test_a_digest_names_a_car_once_and_each_caution_once():
    fluid = item_due(30, kind="brake-fluid", caution=cautions("brake-fluid"))
    member, car = fluid.vehicle.keeper, fluid.vehicle
    item_due(30, member=member, vehicle=car, kind="brake-pads", caution=cautions("brake-pads"))
    preference_of(member, digest="daily")
    find(fluid)
    send(days_later=1)
    text = mail.outbox[0].body
    shared = "Work on brakes decides"
    assert shared in cautions("brake-fluid") and shared in cautions("brake-pads")
    assert (text.count(f"{car.registration} "), text.count(shared)) == (1, 1)


def test_an_item_without_record_says_so_in_the_subject(sent):
    item = item_due(None, no_record=True, governed_by="no_record")
    assert sent(item)["Subject"].endswith("brake fluid renewal due now, no record")


def test_no_part_of_a_mail_calls_a_car_safe(sent):
    message = sent(item_due(30))
    for kind in ("plain", "html"):
        assert "safe" not in part(message, kind).lower()


def test_the_mail_is_marked_as_sent_by_a_machine(sent):
    """RFC 3834, section 5: answering machines leave it alone."""
    assert sent(item_due(30))["Auto-Submitted"] == "auto-generated"


def test_one_click_unsubscribe_has_both_headers_of_rfc_8058(sent):
    item = item_due(30)
    message = sent(item)
    address = message["List-Unsubscribe"].strip()
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert address.startswith("<https://cars.harrowmere.example/api/v1/unsubscribe/")
    token = address.strip("<>").rsplit("/", 1)[1]
    assert read_token(token) == (item.vehicle.keeper_id, "email")


def test_without_https_no_one_click_is_promised(settings):
    settings.PUBLIC_URL = "http://127.0.0.1:8000"
    item = item_due(30)
    preference_of(item.vehicle.keeper)
    find(item)
    send()
    message = mail.outbox[0].message()
    assert message["List-Unsubscribe"].startswith("<http://127.0.0.1:8000/")
    assert message["List-Unsubscribe-Post"] is None


def test_the_message_identifier_is_that_of_the_outbox_and_names_no_person(sent):
    message = sent(item_due(30))
    assert message["Message-ID"] == f"<{Message.objects.get().pk}@cars.harrowmere.example>"
    assert parsedate_to_datetime(message["Date"]) == NOW


def test_a_line_break_in_a_registration_mark_starts_no_header(sent):
    member = factories.MemberFactory(role="keeper")
    car = factories.VehicleFactory(
        collection=member.collection, keeper=member, registration="HM 1\r\nBcc: x@y.z"
    )
    message = sent(item_due(30, member=member, vehicle=car))
    assert message["Bcc"] is None
    assert message["Subject"].startswith("HM 1 Bcc: x@y.z: brake fluid")


def test_a_token_of_another_making_is_no_token():
    assert read_token("01931b5e7a107a119d2e0b1c2d3e4f51-email.forged") is None
