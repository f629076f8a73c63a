import io
import json

import pytest
from django.core.management import CommandError, call_command

from tests.factories import MemberFactory

pytestmark = pytest.mark.django_db


def test_all_that_is_held_about_a_person_is_printed_or_written_to_a_file(tmp_path):
    member = MemberFactory()
    printed, file = io.StringIO(), tmp_path / "person.json"
    call_command("export_person", account=member.account.username, stdout=printed)
    call_command("export_person", account=member.account.username, output=file)
    assert printed.getvalue() == file.read_text()
    assert json.loads(printed.getvalue())["account"]["username"] == member.account.username


def test_a_person_whom_nobody_knows_is_bad_input():
    with pytest.raises(CommandError, match="no account") as refusal:
        call_command("export_person", account="nobody")
    assert refusal.value.returncode == 2
