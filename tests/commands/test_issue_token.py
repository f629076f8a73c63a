import io

import pytest
from django.core.management import CommandError, call_command

from maintenance.models import AccessToken
from tests.factories import AccountFactory

pytestmark = pytest.mark.django_db


def issued(*arguments):
    out = io.StringIO()
    call_command("issue_token", *arguments, stdout=out, stderr=io.StringIO())
    return out.getvalue().strip()


def test_a_program_gets_in_with_the_token_that_was_printed(client):
    account = AccountFactory()
    text = issued("--account", account.username, "--name", "calendar on the wall")
    answer = client.get("/api/v1/vehicles", headers={"authorization": f"Bearer {text}"})
    assert (answer.status_code, AccessToken.objects.get().scope) == (200, "read")


@pytest.mark.parametrize(
    "arguments",
    [("--account", "nobody", "--name", "x"), ("--account", "known", "--name", "x", "--days", "0")],
)
def test_what_can_not_be_issued_is_refused_with_status_2(arguments):
    AccountFactory(username="known")
    with pytest.raises(CommandError) as refusal:
        issued(*arguments)
    assert refusal.value.returncode == 2
    assert not AccessToken.objects.exists()
