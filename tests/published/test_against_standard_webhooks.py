"""Signatures of webhooks against the Standard Webhooks specification, version 1.

The vector is the specification's own; the library is its reference implementation in Python,
which takes no part in signing.
"""

import base64
import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from standardwebhooks import Webhook, WebhookVerificationError

from maintenance.queries.today import this_instant
from maintenance.reminders.channels.webhook_signature import new_secret, signed_headers

VECTOR_SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"


def signed(body, *secrets):
    """Headers signed now: the library refuses what was signed more than five minutes ago."""
    return signed_headers(message_id="msg_1", at=this_instant(), body=body, secret_texts=secrets)


def test_the_published_message_has_the_published_signature():
    headers = signed_headers(
        message_id="msg_p5jXN8AQM9LWM0D4loKWxJek",
        at=datetime.datetime.fromtimestamp(1614265330, datetime.UTC),
        body=b'{"test": 2432232314}',
        secret_texts=[VECTOR_SECRET],
    )

    assert headers == {
        "webhook-id": "msg_p5jXN8AQM9LWM0D4loKWxJek",
        "webhook-timestamp": "1614265330",
        "webhook-signature": "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=",
    }


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_the_library_accepts_any_body_that_is_signed(text):
    secret = new_secret()

    Webhook(secret).verify(text.encode(), signed(text.encode(), secret), json_parse=False)


def test_the_library_refuses_a_body_of_which_one_byte_was_changed():
    secret = new_secret()

    with pytest.raises(WebhookVerificationError):
        Webhook(secret).verify(b'{"due": 2}', signed(b'{"due": 1}', secret))


def test_the_library_refuses_an_instant_other_than_the_signed_one():
    secret = new_secret()
    headers = signed(b"{}", secret)
    headers["webhook-timestamp"] = str(int(headers["webhook-timestamp"]) + 60)

    with pytest.raises(WebhookVerificationError):
        Webhook(secret).verify(b"{}", headers)


def test_a_receiver_with_either_of_two_live_secrets_accepts_the_message():
    old, new = new_secret(), new_secret()
    headers = signed(b'{"due": 1}', new, old)

    assert Webhook(old).verify(b'{"due": 1}', headers) == {"due": 1}
    assert Webhook(new).verify(b'{"due": 1}', headers) == {"due": 1}


def test_a_receiver_with_a_secret_that_is_live_no_more_refuses_the_message():
    with pytest.raises(WebhookVerificationError):
        Webhook(new_secret()).verify(b"{}", signed(b"{}", new_secret()))


def test_a_secret_has_between_24_and_64_random_bytes():
    """The specification's bounds for symmetric keys."""
    secret = new_secret()

    assert 24 <= len(base64.b64decode(secret.removeprefix("whsec_"))) <= 64
    assert secret != new_secret()
