"""The pages in a real browser: do they work, without scripts, narrow, and within their policy?

Nothing here depends on the database, and emptying all tables after each test is slow on
PostgreSQL: there this file is left out (see conftest.py).
"""

import pytest
from django.test import Client
from playwright.sync_api import expect

from maintenance.reminders.letters import INVITATION_PREFIX
from maintenance.reminders.once import digest_of, secret_of
from tests.factories import NOW, InvitationFactory, SpecificationLineFactory, VehicleFactory
from tests.pages.chromium import DESK, PHONE, Visit, chromium
from tests.pages.conftest import PASSWORD
from tests.pages.test_due_item import fluid_renewed, where

LATER = NOW.replace(year=2100)
pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(scope="module")
def browser_itself():
    with pytest.MonkeyPatch.context() as patch, chromium() as browser:
        # playwright runs a loop of its own in this thread, in which Django would refuse any query.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        yield browser


@pytest.fixture
def visit(browser_itself, live_server, person):
    visits = []

    def begin(**more):
        visits.append(Visit(browser_itself, live_server.url, **more))
        return visits[-1]

    yield begin
    for each in visits:
        each.context.close()


def signed_in(visit, name="marit"):
    return visit.go("/sign-in").fill(User_name=name, Password=PASSWORD).press("Sign in")


def test_a_token_is_made_used_and_revoked_and_its_maker_signs_out(visit):
    one = signed_in(visit())
    one.page.get_by_role("link", name="Tokens", exact=True).click()
    one.fill(What_it_is_for="calendar on the wall").press("Make the token")
    program = Client(headers={"Authorization": f"Bearer {one.page.inner_text('#token')}"})
    assert program.get("/api/v1/vehicles").status_code == 200
    one.press("Revoke “calendar on the wall”")
    assert "“calendar on the wall” is revoked" in one.text
    assert program.get("/api/v1/vehicles").status_code == 401
    assert "You are signed out" in one.press("Sign out").text
    assert one.go("/").page.url.endswith("/sign-in?next=/")
    assert one.complaints == []


def test_who_guesses_is_told_what_is_wrong_and_then_for_how_long(visit, settings):
    settings.AXES_FAILURE_LIMIT = 2
    one = visit(size=PHONE).go("/sign-in")
    one.fill(User_name="marit", Password="a guess").press("Sign in")
    assert "do not go together" in one.page.get_by_role("alert").inner_text()
    one.fill(Password="another").press("Sign in")
    assert "for another 15 minutes" in one.text
    # The one complaint is that of the browser about the status itself.
    assert [each for each in one.complaints if "429" not in each] == []


def test_the_pages_fit_a_phone(visit):
    one = signed_in(visit(size=PHONE))
    for path in ("/", "/tokens", "/password", "/forgotten-password"):
        assert one.go(path).overflow == 0, path
    assert one.complaints == []


@pytest.mark.parametrize("size", [DESK, PHONE])
def test_a_working_fits_the_screen_with_its_picture_and_its_long_sums(visit, person, size):
    item = fluid_renewed(person, 1500)
    SpecificationLineFactory(vehicle=item.vehicle, item="brake fluid grade", value="DOT 4", unit="")
    one = signed_in(visit(size=size))
    with one.page.expect_response("**/plot.svg*") as drawn:
        one.go(where(item))
    assert drawn.value.ok
    picture = one.page.locator("img.picture")
    sums = one.page.locator("details").first
    expect(sums.locator("code")).to_be_hidden()
    sums.locator("summary").click()
    expect(sums.locator("code")).to_be_visible()
    assert picture.evaluate("each => each.decode().then(() => each.naturalWidth)") > 0
    assert one.overflow == 0
    assert one.complaints == []


def test_a_keyboard_alone_is_enough_to_sign_in(visit):
    one = visit().go("/sign-in")
    # The page gives the field the focus by itself, but not before it is drawn.
    expect(one.page.get_by_label("User name")).to_be_focused()
    keys = one.page.keyboard
    keys.type("marit")
    keys.press("Tab")
    keys.type(PASSWORD)
    keys.press("Enter")
    one.page.wait_for_url("**/")
    assert "Signed in as marit" in one.text


def test_who_is_invited_makes_an_account_and_signs_in(visit):
    invitation = InvitationFactory(collection__name="Mere Owners")
    secret = secret_of(INVITATION_PREFIX, invitation.pk)
    type(invitation).objects.update(digest=digest_of(secret), expires_at=LATER)
    one = visit(size=PHONE).go(f"/invitations/{secret}")
    one.fill(How_you_wish_to_be_called="Ada", User_name_of_your_new_account="ada")
    one.fill(Its_password=PASSWORD).press("Accept the invitation")
    assert "you are a member now" in one.text
    assert "Mere Owners" in signed_in(one, "ada").text
    assert one.complaints == []


def test_the_documents_of_the_api_work_within_their_policy(visit):
    one = signed_in(visit()).go("/api/v1/docs/")
    one.page.get_by_text("List access tokens").click()
    one.press("Try it out").press("Execute")
    one.page.wait_for_selector("text=Response headers")
    assert '"items": []' in one.text
    assert one.complaints == []


def test_the_operators_pages_work_within_their_policy(visit, person):
    person.is_staff = person.is_superuser = True
    person.save()
    car = VehicleFactory(registration="HM 417")
    one = signed_in(visit())
    one.go("/admin/").go("/admin/maintenance/vehicle/")
    one.page.get_by_role("link", name="HM 417").click()
    expect(one.page.get_by_text(car.collection.name).first).to_be_visible()
    one.go("/admin/maintenance/vehicle/add/").page.locator(".select2-selection").first.click()
    one.page.wait_for_selector(f".select2-results :text('{car.collection.name}')")
    one.page.keyboard.press("Escape")
    one.page.locator(".datetimeshortcuts a").nth(1).click()
    one.page.wait_for_selector(".calendarbox", state="visible")
    one.go(f"/admin/maintenance/account/{person.pk}/change/").go("/admin/password_change/")
    assert one.complaints == []
