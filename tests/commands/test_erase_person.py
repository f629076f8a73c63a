import io

import pytest
from django.core.management import CommandError, call_command

from tests.factories import MemberFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def ada():
    secretary = MemberFactory(role="secretary")
    return MemberFactory(collection=secretary.collection, role="keeper").account


def test_a_person_is_erased_once_the_user_name_was_typed_twice(ada):
    told = io.StringIO()
    call_command("erase_person", account=ada.username, confirm=ada.username, stdout=told)
    assert told.getvalue() == "erased; the name was taken out of 0 texts on record\n"
    ada.refresh_from_db()
    assert (ada.username, ada.is_active) == ("former member 1", False)


def test_without_the_name_typed_again_nothing_is_erased(ada):
    with pytest.raises(CommandError, match="--confirm") as refusal:
        call_command("erase_person", account=ada.username, confirm="yes")
    assert refusal.value.returncode == 2
    ada.refresh_from_db()
    assert ada.is_active


def test_a_last_secretary_is_bad_input():
    secretary = MemberFactory(role="secretary")
    MemberFactory(collection=secretary.collection, role="keeper")
    name = secretary.account.username
    with pytest.raises(CommandError, match="last secretary") as refusal:
        call_command("erase_person", account=name, confirm=name)
    assert refusal.value.returncode == 2
