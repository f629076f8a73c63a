"""Issue keys for other programs, recognise them, revoke them."""

import datetime
import hashlib
import secrets
import string
import zlib
from collections.abc import Iterator

from django.conf import settings
from django.db import transaction
from django.db.models import Q

from maintenance.catalogue.words import unknown
from maintenance.models import AccessToken, Account
from maintenance.services.checks.figures import text_problems
from maintenance.services.refusals import Problem, refuse_if_any

#: By this and the checksum at the end a scanner for leaked secrets can tell what it has found.
PREFIX = "idle_"
_SIGNS = string.ascii_letters + string.digits
#: 62 ** 43 is more than 2 ** 256.
_RANDOM_SIGNS, _CHECK_SIGNS = 43, 6
#: How much of a text is kept in the clear, to tell tokens apart.
_HINT_SIGNS = len(PREFIX) + 4
#: The note of the last use may be this much behind, so that not every read becomes a write.
_LAST_USE_EVERY = datetime.timedelta(minutes=1)


@transaction.atomic
def issue_token(
    *,
    account: Account,
    name: str,
    scope: str,
    expires_at: datetime.datetime,
    at: datetime.datetime,
    asking: AccessToken | None = None,
) -> tuple[AccessToken, str]:
    """Issue a token and return it with its text, which is kept nowhere and shown this once.

    Refused: no name, an unknown scope, an expiry that is not after `at` or later than the setting
    TOKEN_DAYS_LIMIT allows; and whatever would let the token `asking` outgrow itself: a wider scope
    than its own, or an expiry after its own.
    """
    problems = list(text_problems("/name", name, longest=80, required=True))
    if scope not in AccessToken.Scope.values:
        problems.append(Problem("/scope", unknown("scope", scope, AccessToken.Scope.values)))
    problems.extend(_expiry_problems(expires_at, at))
    if asking is not None and not problems:
        problems.extend(_outgrown(asking, scope, expires_at))
    refuse_if_any(problems)
    text = _new_text()
    token = AccessToken.objects.create(
        account=account,
        name=name,
        hint=text[:_HINT_SIGNS],
        scope=scope,
        digest=_digest(text),
        issued_at=at,
        expires_at=expires_at,
    )
    return token, text


def usual_expiry(*, at: datetime.datetime, asking: AccessToken | None = None) -> datetime.datetime:
    """Return when a token expires that is issued without a word about it."""
    usual = at + datetime.timedelta(days=settings.TOKEN_DAYS)
    return usual if asking is None else min(usual, asking.expires_at)


def token_account(*, text: str, at: datetime.datetime) -> AccessToken | None:
    """Return the token of a text, with its account, if it may be used at that instant.

    None for an unknown, expired or revoked token and for an account that was closed. One query;
    a second one notes the use, at most once a minute.
    """
    if not text.startswith(PREFIX):
        return None
    token = (
        AccessToken.objects.select_related("account")
        .filter(
            digest=_digest(text),
            revoked_at__isnull=True,
            expires_at__gt=at,
            account__is_active=True,
        )
        .first()
    )
    if token is not None:
        _note_use(token, at)
    return token


def is_whole(text: str) -> bool:
    """Say whether a text has the form and the checksum of a token; asks no database."""
    body = text.removeprefix(PREFIX)
    return (
        text.startswith(PREFIX)
        and len(body) == _RANDOM_SIGNS + _CHECK_SIGNS
        and set(body) <= set(_SIGNS)
        and body[_RANDOM_SIGNS:] == _checksum(body[:_RANDOM_SIGNS])
    )


def revoke_token(*, token: AccessToken, at: datetime.datetime) -> None:
    """Make a token useless from that instant on; a second revocation changes nothing."""
    AccessToken.objects.filter(pk=token.pk, revoked_at__isnull=True).update(revoked_at=at)


def _expiry_problems(expires_at: datetime.datetime, at: datetime.datetime) -> Iterator[Problem]:
    longest = datetime.timedelta(days=settings.TOKEN_DAYS_LIMIT)
    if expires_at <= at:
        yield Problem("/expires_at", f"{expires_at} is not after now, {at}")
    elif expires_at - at > longest:
        yield Problem(
            "/expires_at", f"a token lasts at most {longest.days} days; give {at + longest} or less"
        )


def _outgrown(asking: AccessToken, scope: str, expires_at: datetime.datetime) -> Iterator[Problem]:
    """Tell in what a new token would be more than the one that asks for it.

    Otherwise a token that leaked for a day could be made into one that lasts a year.
    """
    widths = AccessToken.Scope.values
    if widths.index(scope) > widths.index(asking.scope):
        yield Problem("/scope", f"is wider than {asking.scope}, the scope of the token that asks")
    if expires_at > asking.expires_at:
        yield Problem(
            "/expires_at",
            f"is after {asking.expires_at}, when the token that asks expires; sign in and issue "
            "it there",
        )


def _note_use(token: AccessToken, at: datetime.datetime) -> None:
    earlier = at - _LAST_USE_EVERY
    if token.last_used_at is None or token.last_used_at <= earlier:
        # Asked again in the database, so that of many requests at once only one writes.
        AccessToken.objects.filter(
            Q(last_used_at=None) | Q(last_used_at__lte=earlier), pk=token.pk
        ).update(last_used_at=at)


def _new_text() -> str:
    body = "".join(secrets.choice(_SIGNS) for _ in range(_RANDOM_SIGNS))
    return PREFIX + body + _checksum(body)


def _checksum(body: str) -> str:
    """Return the CRC-32 of a token's random signs, in the same signs."""
    rest, signs = zlib.crc32(body.encode()), ""
    for _ in range(_CHECK_SIGNS):
        rest, sign = divmod(rest, len(_SIGNS))
        signs = _SIGNS[sign] + signs
    return signs


def _digest(text: str) -> str:
    # The text has 256 random bits: a slow hash, as for passwords, would add nothing.
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
