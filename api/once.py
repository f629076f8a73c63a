"""`Idempotency-Key`: a call that is sent again under its key is done once and answered alike.

The header is that of draft-ietf-httpapi-idempotency-key-header-07. The key row is written in the
transaction of what the call does: a crash leaves neither or both, so a client that got no answer
may always send the call again.
"""

import functools
import hashlib
import io
import re
from collections.abc import Callable
from http import HTTPStatus
from typing import Any, cast

import orjson
from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.db import transaction
from django.http import HttpRequest
from django.http.request import RawPostDataException
from rest_framework.request import Request
from rest_framework.response import Response

from api.problems import Refusal
from api.rendering import as_json
from maintenance.models import KeptAnswer
from maintenance.queries.today import this_instant
from maintenance.services.collisions import twice_if_need_be
from maintenance.services.kept_answers import (
    Asked,
    OtherRequest,
    UnderWay,
    answered_before,
    hold,
    keep_answer,
)

HEADER = "Idempotency-Key"
#: Says of an answer that it was given before.
REPLAYED = "Idempotency-Replayed"

#: A structured-fields string (RFC 9651, section 3.3.3); common practice leaves out the quotes.
_QUOTED = re.compile(r'"((?:[ !#-\[\]-~]|\\["\\]){1,510})"')
_BARE = re.compile(r"[A-Za-z0-9_.~+/=:-]+")
_LONGEST = 255


class Once:
    """For a view: what is posted to it under a key is done once."""

    #: A call by POST that answers a question and keeps nothing.
    only_asks = False

    #: Whether the call is made under a key, and so within one transaction.
    under_key = False

    @property
    def body_limit(self) -> int:
        """The longest body taken [bytes]."""
        return int(settings.DATA_UPLOAD_MAX_MEMORY_SIZE)

    def kept_as(self, response: Response) -> Response:
        """Return what a second call is answered where that is not what the first one was."""
        return response

    post: Callable[..., Response]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)  # type: ignore[misc]
        asked = asked_once(request, self.body_limit)
        if asked is None or not getattr(self, "action", None):
            return
        self.under_key = not self.only_asks
        act, once = self.post, answered_once if self.only_asks else done_once
        # The handler is looked up after this, and then finds the one that does it once.
        self.post = lambda *a, **k: once(asked, self, functools.partial(act, *a, **k))


def asked_once(request: Request, body_limit: int) -> Asked | None:
    """Return what is asked under a key, or nothing where a request has none.

    Reads the body, and leaves it to be read again. Raises `Refusal` (400) for a key that can't
    be read.
    """
    text = request.headers.get(HEADER)
    # A key belongs to an account; the few calls open to anybody can be made once by themselves.
    if request.method != "POST" or text is None or not request.user.is_authenticated:
        return None
    key = _key(text)
    sent = request._request
    parts = (
        *(str(request.method).encode(), sent.path.encode()),
        *(sent.META.get("QUERY_STRING", "").encode(), _exact_body(sent, body_limit)),
    )
    # Each part by its own digest: no two requests can run together into the same bytes.
    digest = hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts))
    return Asked(
        account=request.user,
        key=key,
        fingerprint=digest.hexdigest(),
        at=this_instant(),
    )


def done_once(asked: Asked, view: Any, act: Callable[[], Response]) -> Response:
    """Do what is asked and keep the answer, in one transaction; or answer as before.

    A refusal is kept as well, with all that the call had written taken back. A failure of the
    server is not kept: the client may try again.
    """
    try:
        with transaction.atomic():
            hold(asked)
            if (known := answered_before(asked)) is not None:
                return _again(known)
            response = _attempt(view, twice_if_need_be(transaction.atomic(act)))
            if response.status_code >= HTTPStatus.INTERNAL_SERVER_ERROR:
                transaction.set_rollback(True)
            else:
                _keep(asked, view.kept_as(response))
            return response
    except UnderWay as under_way:
        raise Refusal("still-under-way", "A call under this key has not ended yet.") from under_way
    except OtherRequest as other:
        raise _reused(asked) from other


def answered_once(asked: Asked, view: Any, act: Callable[[], Response]) -> Response:
    """Answer a question, or repeat the answer.

    A question leaves nothing behind that must not be there twice, and may take long: so it is
    worked out outside any transaction, and of two at once the first answer stands for both.
    """
    try:
        if (known := answered_before(asked)) is not None:
            return _again(known)
        response = _attempt(view, twice_if_need_be(act))
        if response.status_code < HTTPStatus.INTERNAL_SERVER_ERROR:
            _keep(asked, response)
        return response
    except OtherRequest as other:
        raise _reused(asked) from other


def _attempt(view: Any, act: Callable[[], Response]) -> Response:
    try:
        return act()
    except Exception as refused:
        return cast(Response, view.handle_exception(refused))


def _keep(asked: Asked, response: Response) -> None:
    keep_answer(
        asked=asked,
        status=response.status_code,
        media_type=response.content_type or "",
        location=response.headers.get("Location", ""),
        body=b"" if response.data is None else as_json(response.data),
    )


def _again(known: KeptAnswer) -> Response:
    """Answer with the bytes of the first time; its entity tag follows from them."""
    return Response(
        orjson.Fragment(bytes(known.body)) if known.body else None,
        status=known.status,
        content_type=known.media_type or None,
        headers={REPLAYED: "true"} | ({"Location": known.location} if known.location else {}),
    )


def _reused(asked: Asked) -> Refusal:
    return Refusal("key-used-before", f"The key {asked.key!r} was used for another request.")


def _key(text: str) -> str:
    if quoted := _QUOTED.fullmatch(text.strip()):
        key = re.sub(r"\\(.)", r"\1", quoted[1])
    elif _BARE.fullmatch(text):
        key = text
    else:
        raise _malformed("is no text in quotation marks")
    if len(key) > _LONGEST:
        raise _malformed(f"is longer than {_LONGEST} characters")
    return key


def _malformed(wrong: str) -> Refusal:
    return Refusal("malformed-idempotency-key", f"The header {HEADER} {wrong}.")


def _exact_body(sent: HttpRequest, limit: int) -> bytes:
    """Return the bytes of a body, which stays to be read by its parser.

    Django's own `body` refuses what is longer than a JSON body may be; a file may be longer.
    """
    if not hasattr(sent, "_body"):
        if sent._read_started:  # type: ignore[attr-defined]
            raise RawPostDataException
        content = sent.read(limit + 1)
        if len(content) > limit:
            raise RequestDataTooBig
        sent._body, sent._stream = content, io.BytesIO(content)
    return sent.body
