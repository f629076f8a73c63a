"""Files of service events over HTTP."""

import pytest

from tests.api.callers import Caller, pointers
from tests.factories import MemberFactory, ServiceEventFactory

PDF = b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n"


@pytest.fixture(autouse=True)
def files(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def done(car):
    return ServiceEventFactory(vehicle=car)


def send(caller, event, content=PDF, name="invoice.pdf", media_type="application/pdf"):
    address = f"/api/v1/attachments?service_event={event.pk}&name={name}"
    return caller.client.post(address, content, content_type=media_type)


def test_an_invoice_is_sent_listed_and_read_again(secretary, done):
    made = send(secretary, done)
    assert made.status_code == 201
    listed = secretary.items("attachments", {"service_event": str(done.pk)})
    assert [each["name"] for each in listed] == ["invoice.pdf"]
    assert secretary.get(f"attachments/{made.json()['id']}/content").content == PDF


def test_a_file_is_only_ever_downloaded(secretary, done):
    made = send(secretary, done, name="r%C3%A9sum%C3%A9.html").json()
    answer = secretary.get(f"attachments/{made['id']}/content")
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.headers["Content-Disposition"].startswith("attachment; filename")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer.headers["Content-Security-Policy"]


def test_a_page_that_calls_itself_an_invoice_is_refused(secretary, done):
    answer = send(secretary, done, content=b"<html><script>alert(1)</script>")
    assert (answer.status_code, pointers(answer)) == (422, {""})
    assert answer.json()["detail"].startswith("the file is neither a PDF nor")


def test_a_file_of_a_form_not_taken_is_refused_by_its_media_type(secretary, done):
    assert send(secretary, done, media_type="text/html").status_code == 415


def test_a_file_too_large_is_refused(secretary, done, settings):
    settings.ATTACHMENT_LIMIT = 20
    assert send(secretary, done).status_code == 413


@pytest.mark.parametrize("name", ["x" * 121, "a%0Ab.pdf", "%20"])
def test_a_name_that_can_not_be_is_refused_as_a_parameter(secretary, done, name):
    answer = send(secretary, done, name=name)
    assert answer.status_code == 400
    assert [line["parameter"] for line in answer.json()["errors"]] == ["name"]


def test_nothing_is_attached_without_an_event_and_a_name(secretary):
    answer = secretary.client.post("/api/v1/attachments", PDF, content_type="application/pdf")
    assert {line["parameter"] for line in answer.json()["errors"]} == {"service_event", "name"}


def test_files_of_another_club_are_as_if_they_were_not_there(secretary, stranger, done):
    made = send(secretary, done).json()
    assert stranger.get(f"attachments/{made['id']}/content").status_code == 404
    assert send(stranger, done).status_code == 400


def test_a_viewer_reads_a_file_and_attaches_none(secretary, club, done):
    viewer = Caller(MemberFactory(collection=club, role="viewer").account)
    made = send(secretary, done).json()
    assert viewer.get(f"attachments/{made['id']}/content").status_code == 200
    assert send(viewer, done).status_code == 403


def test_an_attachment_is_withdrawn_with_a_reason(secretary, done):
    made = send(secretary, done).json()
    answer = secretary.post(f"attachments/{made['id']}/withdrawal", {"reason": "another car's"})
    assert answer.status_code == 201
