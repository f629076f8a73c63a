import datetime
import io
import json

import pytest
from openpyxl import load_workbook

from api.file_bodies import MEDIA_TYPES
from maintenance.models import ExportJob, ImportJob, ServiceEvent, Vehicle
from maintenance.services import file_jobs
from tests.api.callers import Caller, pointers
from tests.factories import NOW, CollectionFactory, ComponentFactory, MemberFactory, VehicleFactory
from tests.services.history_file.files import file_of
from tests.services.spreadsheet.sheets import ROW, as_csv, as_xlsx


@pytest.fixture
def heron(car):
    ComponentFactory(vehicle=car, kind="brake-fluid")
    return car


def row_of(car, **said):
    return ROW | {"registration": car.registration} | said


def send(caller, raw, club, form="csv", **options):
    query = "&".join(
        f"{name}={value}" for name, value in ({"collection": club.pk} | options).items()
    )
    return caller.client.post(f"/api/v1/imports?{query}", raw, content_type=MEDIA_TYPES[form])


def ask(caller, club, form="csv"):
    return caller.post("exports", {"collection": str(club.pk), "form": form})


def content_of(caller, answer):
    return caller.get(f"exports/{answer.json()['id']}/content")


@pytest.mark.parametrize(("form", "written"), [("csv", as_csv), ("xlsx", as_xlsx)])
def test_a_sheet_is_taken_in_and_the_import_tells_what_came_of_it(
    form, written, secretary, club, heron
):
    answer = send(secretary, written(row_of(heron)), club, form)
    assert answer.status_code == 202
    told = secretary.get(answer.headers["Location"]).json()
    assert told == answer.json()
    assert (told["state"], told["added"], told["rows_total"]) == (
        "done",
        {"entries": 1, "service_events": 1},
        1,
    )
    assert ServiceEvent.objects.get().recorded_by == secretary.account


def test_a_dry_run_is_told_and_writes_nothing(secretary, club, heron):
    told = send(secretary, as_csv(row_of(heron)), club, dry_run="true").json()
    assert (told["state"], told["dry_run"], told["added"]["entries"]) == ("done", True, 1)
    assert not ServiceEvent.objects.exists()


def test_a_refused_sheet_names_every_bad_row(secretary, club, heron):
    sheet = as_csv(row_of(heron), row_of(heron, on="3/4/2019"), row_of(heron, price="much"))
    told = send(secretary, sheet, club).json()
    assert (told["state"], told["error_count"]) == ("refused", 2)
    assert [(line["row"], line["column"]) for line in told["errors"]] == [(3, "on"), (4, "price")]
    assert not ServiceEvent.objects.exists()


def test_a_part_that_went_to_another_car_is_taken_in_and_comes_out_again(secretary, club, heron):
    tern = VehicleFactory(collection=club, registration="HM 78")
    ComponentFactory(vehicle=tern, kind="brake-fluid", position="bottle", storage="dry")
    away = row_of(heron, action="move", to="bottle", to_vehicle="HM 79")
    (error,) = send(secretary, as_csv(away), club).json()["errors"]
    assert (error["row"], error["column"]) == (2, "to_vehicle")
    told = send(secretary, as_csv(away | {"to_vehicle": "HM 78"}), club).json()
    assert (told["state"], told["added"]["entries"]) == ("done", 1)
    text = content_of(secretary, ask(secretary, club)).content.decode()
    assert ",move,brake-fluid bottle,HM 78," in text


def test_more_errors_than_are_shown_are_read_page_by_page(secretary, club, heron):
    sheet = as_csv(*(row_of(heron, price="much") for _ in range(120)))
    told = send(secretary, sheet, club).json()
    assert (told["error_count"], len(told["errors"])) == (120, 100)
    page = secretary.get("import-errors", {"job": told["id"], "limit": 50}).json()
    rows = [line["row"] for line in page["items"]]
    while page["next"]:
        page = secretary.get(page["next"]).json()
        rows += [line["row"] for line in page["items"]]
    assert rows == list(range(2, 122))


def test_the_headings_and_the_order_of_dates_are_stated_in_the_query(secretary, club, heron):
    row = {"Wagen": heron.registration, "Tag": "3.4.2026", "Teil": "brake fluid", "Was": "renew"}
    columns = json.dumps(dict(zip(row, ["registration", "on", "component", "action"], strict=True)))
    told = send(secretary, as_csv(row), club, columns=columns, date_order="dmy").json()
    assert told["headings"]["on"] == "Tag"
    assert ServiceEvent.objects.get().on_stated == "2026-04-03"


def test_a_history_file_is_taken_in_too(secretary, club):
    document = file_of()
    del document["collection"]
    told = send(secretary, json.dumps(document).encode(), club, "json").json()
    assert (told["state"], told["added"]["vehicles"]) == ("done", 1)
    assert Vehicle.objects.get().collection == club


def test_an_error_in_a_history_file_keeps_its_pointer(secretary, club):
    raw = json.dumps({"vehicles": [{"registration": 5}]}).encode()
    told = send(secretary, raw, club, "json").json()
    assert told["state"] == "refused"
    assert "/vehicles/0/registration" in {line["pointer"] for line in told["errors"]}


@pytest.mark.parametrize(
    "options",
    [
        {"date_order": "dym"},
        {"encoding": "latin-9"},
        {"dry_run": "yes"},
        {"columns": "[1]"},
        {"columns": '{"a%5Cu0000": "on"}'},
        {"columns": '{"%5Cud800": "on"}'},
        {"odometer_unit": "league"},
        {"dryrun": "true"},
    ],
)
def test_an_option_that_is_none_is_refused_by_name(options, secretary, club):
    answer = send(secretary, as_csv(ROW), club, **options)
    assert (answer.status_code, ImportJob.objects.count()) == (400, 0)
    assert [line["parameter"] for line in answer.json()["errors"]] == list(options)


def test_a_body_of_another_kind_or_of_nothing_is_refused(secretary, club):
    query = f"/api/v1/imports?collection={club.pk}"
    other = secretary.client.post(query, b"x", content_type="application/pdf")
    empty = secretary.client.post(query, b"", content_type="text/csv")
    assert (other.status_code, empty.status_code) == (415, 400)
    for taken in MEDIA_TYPES.values():
        assert taken in other.json()["detail"]
    assert "not application/pdf" in other.json()["detail"]


def test_a_body_that_is_too_large_is_refused_unread(secretary, club, settings):
    settings.SPREADSHEET_FILE_LIMIT = settings.HISTORY_FILE_LIMIT = 100
    assert send(secretary, b"x" * 101, club).status_code == 413


def test_a_club_of_others_is_as_unknown_as_none(secretary):
    other = CollectionFactory()
    foreign = send(secretary, as_csv(ROW), other).json()
    other.pk = "01931b5e-7a00-7a11-9d2e-0b1c2d3e4f50"
    assert send(secretary, as_csv(ROW), other).json() == foreign
    assert foreign["status"] == 400


def test_a_viewer_imports_nothing(club):
    viewer = Caller(MemberFactory(collection=club, role="viewer").account)
    assert send(viewer, as_csv(ROW), club).status_code == 403


def test_a_token_that_only_reads_imports_nothing_but_exports(club, heron):
    reader = Caller(MemberFactory(collection=club).account, scope="read")
    assert send(reader, as_csv(ROW), club).status_code == 403
    assert ask(reader, club).status_code == 202


def test_a_keeper_imports_no_history_file(club):
    keeper = Caller(MemberFactory(collection=club, role="keeper").account)
    assert send(keeper, b"{}", club, "json").status_code == 403


def test_a_history_file_takes_a_token_that_manages(secretary, club):
    recorder = Caller(secretary.account, scope="record")
    refused = send(recorder, b"{}", club, "json")
    assert refused.status_code == 403
    assert "'manage'" in refused.json()["detail"]
    assert send(secretary, b"{}", club, "json").status_code == 202


def test_another_member_sees_neither_import_nor_errors_nor_export(secretary, club, heron):
    told = send(secretary, as_csv(row_of(heron, price="much")), club).json()
    made = ask(secretary, club).json()
    other = Caller(MemberFactory(collection=club).account)
    assert other.get(f"imports/{told['id']}").status_code == 404
    assert other.get(f"exports/{made['id']}/content").status_code == 404
    assert not other.items("imports") + other.items("import-errors") + other.items("exports")


def test_an_export_holds_what_was_imported(secretary, club, heron):
    send(secretary, as_csv(row_of(heron)), club)
    answer = content_of(secretary, ask(secretary, club))
    assert answer.headers["Content-Type"] == "text/csv"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="entries.csv"'
    assert heron.registration in answer.content.decode("utf-8-sig").splitlines()[1]


def test_an_export_may_be_a_workbook(secretary, club, heron):
    send(secretary, as_csv(row_of(heron)), club)
    book = load_workbook(io.BytesIO(content_of(secretary, ask(secretary, club, "xlsx")).content))
    assert book.active["A2"].value == heron.registration


def test_an_export_may_be_a_history_file(secretary, club, heron):
    document = json.loads(content_of(secretary, ask(secretary, club, "json")).content)
    assert [one["registration"] for one in document["vehicles"]] == [heron.registration]


def test_a_keeper_exports_their_own_cars_alone(club, heron):
    keeper = Caller(MemberFactory(collection=club, role="keeper").account)
    document = json.loads(content_of(keeper, ask(keeper, club, "json")).content)
    assert document["vehicles"] == []


def test_a_content_known_already_is_not_sent_again(secretary, club):
    made = ask(secretary, club)
    tag = content_of(secretary, made).headers["ETag"]
    again = secretary.get(f"exports/{made.json()['id']}/content", If_None_Match=tag)
    assert again.status_code == 304


class TestWithABroker:
    """Jobs wait for a worker, and are begun again where one was lost."""

    @pytest.fixture(autouse=True)
    def _broker(self, settings):
        settings.CELERY_BROKER_URL = "redis://127.0.0.1:6379/9"

    @pytest.fixture
    def job(self, secretary, club, heron):
        told = send(secretary, as_csv(row_of(heron)), club).json()
        assert told["state"] == "waiting"
        return ImportJob.objects.get(pk=told["id"])

    def test_a_waiting_import_is_taken_up_by_a_worker(self, job):
        ((model, pk),) = file_jobs.to_be_run(at=NOW)
        file_jobs.run(model, pk, clock=lambda: NOW)
        job.refresh_from_db()
        assert (job.state, bytes(job.content), file_jobs.to_be_run(at=NOW)) == ("done", b"", [])

    def test_a_job_that_is_held_is_left_alone(self, job):
        ImportJob.objects.update(state="reading", claimed_at=NOW, attempts=1)
        file_jobs.run(ImportJob, job.pk, clock=lambda: NOW)
        assert not ServiceEvent.objects.exists()

    def test_a_job_whose_worker_was_lost_is_begun_again(self, job):
        ImportJob.objects.update(state="writing", claimed_at=NOW, attempts=1)
        later = NOW + file_jobs.LEASE + datetime.timedelta(seconds=1)
        file_jobs.run(ImportJob, job.pk, clock=lambda: later)
        job.refresh_from_db()
        assert (job.state, job.attempts, ServiceEvent.objects.count()) == ("done", 2, 1)

    def test_a_job_that_is_overtaken_takes_back_what_it_wrote(self, job, monkeypatch):
        def overtaken(**asked):
            ImportJob.objects.update(attempts=2)
            return plain(**asked)

        plain = file_jobs.import_entries
        monkeypatch.setattr(file_jobs, "import_entries", overtaken)
        file_jobs.run(ImportJob, job.pk, clock=lambda: NOW)
        assert not ServiceEvent.objects.exists()

    def test_a_job_that_fails_is_tried_three_times(self, job, monkeypatch):
        def fails(**asked):
            raise OSError("no space left")

        monkeypatch.setattr(file_jobs, "import_entries", fails)
        states = []
        for _ in range(4):
            file_jobs.run(ImportJob, job.pk, clock=lambda: NOW)
            job.refresh_from_db()
            states.append(job.state)
        assert states == ["waiting", "waiting", "failed", "failed"]

    def test_an_export_is_removed_after_a_week(self, secretary, club):
        made = ask(secretary, club).json()
        file_jobs.run(ExportJob, made["id"], clock=lambda: NOW)
        file_jobs.to_be_run(at=NOW + file_jobs.KEPT)
        assert ExportJob.objects.exists()
        file_jobs.to_be_run(at=NOW + file_jobs.KEPT + datetime.timedelta(seconds=1))
        assert not ExportJob.objects.exists()

    def test_the_content_of_an_export_not_yet_done_is_not_there(self, secretary, club):
        assert content_of(secretary, ask(secretary, club)).status_code == 404


def about(caller, club, member, form="json"):
    return caller.post(
        "exports", {"collection": str(club.pk), "form": form, "about": str(member.pk)}
    )


def test_a_member_exports_all_that_is_held_about_them(club, heron):
    ada = MemberFactory(collection=club, role="keeper", name="Ada Merrow")
    content = content_of(Caller(ada.account), about(Caller(ada.account), club, ada))
    assert "person.json" in content["Content-Disposition"]
    assert json.loads(content.content)["account"]["username"] == ada.account.username


def test_a_secretary_exports_what_the_collection_holds_about_a_member(secretary, club):
    ada = MemberFactory(collection=club, role="keeper", name="Ada Merrow")
    document = json.loads(content_of(secretary, about(secretary, club, ada)).content)
    assert [each["name"] for each in document["memberships"]] == ["Ada Merrow"]
    assert "account" not in document


def test_nobody_else_is_told_of_a_member(club, stranger):
    ada = MemberFactory(collection=club, role="keeper")
    officer = MemberFactory(collection=club, role="technical_officer")
    assert about(Caller(officer.account), club, ada).status_code == 403
    assert about(Caller(ada.account, scope="record"), club, ada).status_code == 403
    theirs = stranger.account.memberships.get().collection
    assert pointers(about(stranger, theirs, ada)) == {"/about"}


def test_what_is_held_about_a_member_is_no_sheet(secretary, club):
    [member] = secretary.account.memberships.all()
    assert pointers(about(secretary, club, member, form="xlsx")) == {"/form"}
