"""The kinds of refusal a client can meet, each with an address of its own that explains it.

The addresses are part of the contract (RFC 9457, section 3.1.1): a slug, once published, stays.
"""

from dataclasses import dataclass
from http import HTTPStatus

ADDRESS = "/api/v1/problems/"


@dataclass(frozen=True, kw_only=True)
class ProblemType:
    slug: str
    status: HTTPStatus
    title: str
    remedy: str

    @property
    def address(self) -> str:
        return f"{ADDRESS}{self.slug}"


_ALL = (
    ProblemType(
        slug="malformed-request",
        status=HTTPStatus.BAD_REQUEST,
        title="The request can't be read",
        remedy="Send one JSON object, in UTF-8, in which no key comes twice.",
    ),
    ProblemType(
        slug="malformed-idempotency-key",
        status=HTTPStatus.BAD_REQUEST,
        title="The idempotency key can't be read",
        remedy="Send a text of your own of 1 to 255 visible characters in quotation marks, such as "
        '`Idempotency-Key: "01931b5e-7f00"`, or leave the header out.',
    ),
    ProblemType(
        slug="invalid-query",
        status=HTTPStatus.BAD_REQUEST,
        title="A query parameter is unknown or has a value that can't be read",
        remedy="Correct the parameters listed under `errors`, or leave them out.",
    ),
    ProblemType(
        slug="invalid-cursor",
        status=HTTPStatus.BAD_REQUEST,
        title="This cursor does not belong to this list",
        remedy="Follow the `next` address as it was given, or begin again without `cursor`.",
    ),
    ProblemType(
        slug="not-authenticated",
        status=HTTPStatus.UNAUTHORIZED,
        title="Nobody is signed in",
        remedy="Send `Authorization: Bearer` with a token that is neither expired nor revoked.",
    ),
    ProblemType(
        slug="not-permitted",
        status=HTTPStatus.FORBIDDEN,
        title="You may see this but not do that",
        remedy="Use a token of a wider scope, or ask an officer of the collection.",
    ),
    ProblemType(
        slug="not-found",
        status=HTTPStatus.NOT_FOUND,
        title="There is nothing here that you may see",
        remedy="Check the address; what belongs to others answers as if it were not there.",
    ),
    ProblemType(
        slug="method-not-allowed",
        status=HTTPStatus.METHOD_NOT_ALLOWED,
        title="This address does not take that method",
        remedy="Use a method named in the `Allow` header. Records are corrected, never changed.",
    ),
    ProblemType(
        slug="not-acceptable",
        status=HTTPStatus.NOT_ACCEPTABLE,
        title="The answer can't be given in that form",
        remedy="Accept `application/json`.",
    ),
    ProblemType(
        slug="still-in-use",
        status=HTTPStatus.CONFLICT,
        title="Other records hang on this one",
        remedy="Remove what is listed under `errors` first, or keep the record.",
    ),
    ProblemType(
        slug="still-under-way",
        status=HTTPStatus.CONFLICT,
        title="A call under this idempotency key has not ended yet",
        remedy="Send it again, unchanged and under the same key, in a few seconds.",
    ),
    ProblemType(
        slug="secret-shown-once",
        status=HTTPStatus.CONFLICT,
        title="This was done before, and its secret was shown then",
        remedy="What was made is at `Location`; its secret is kept nowhere. If the first answer "
        "never arrived, do as `detail` says: a webhook and a calendar feed are given a new secret, "
        "an access token is revoked and the offer of a car withdrawn, and another one made.",
    ),
    ProblemType(
        slug="changes-forgotten",
        status=HTTPStatus.GONE,
        title="The feed does not go on from this place",
        remedy="Ask `changes` without `after` for the present place, list anew every noun that the "
        "feed covers, and go on from that place.",
    ),
    ProblemType(
        slug="changed-meanwhile",
        status=HTTPStatus.PRECONDITION_FAILED,
        title="Somebody has changed this since you read it",
        remedy="Read it again, make your change to what is there now and send its new `ETag`.",
    ),
    ProblemType(
        slug="too-large",
        status=HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
        title="The request is larger than the server takes",
        remedy="Send fewer records at a time.",
    ),
    ProblemType(
        slug="unsupported-media-type",
        status=HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
        title="The request has a form that this address does not take",
        remedy="Send a body of a form that `detail` names, with its `Content-Type`: "
        "`application/json`, and where a file is sent the file itself.",
    ),
    ProblemType(
        slug="refused",
        status=HTTPStatus.UNPROCESSABLE_ENTITY,
        title="The request was understood, but what it says can't be so",
        remedy="Each line under `errors` names a place in the request and what to do about it.",
    ),
    ProblemType(
        slug="key-used-before",
        status=HTTPStatus.UNPROCESSABLE_ENTITY,
        title="This idempotency key was used for another request",
        remedy="Use a new key for each new request, and send the request unchanged under its key.",
    ),
    ProblemType(
        slug="precondition-required",
        status=HTTPStatus.PRECONDITION_REQUIRED,
        title="A change has to say which version it changes",
        remedy="Send the `ETag` of the version you read as `If-Match`.",
    ),
    ProblemType(
        slug="too-many-requests",
        status=HTTPStatus.TOO_MANY_REQUESTS,
        title="You have asked too often",
        remedy="Wait as many seconds as `Retry-After` says. `RateLimit` says of every answer what "
        "is left, `RateLimit-Policy` of how many in which time.",
    ),
    ProblemType(
        slug="internal-error",
        status=HTTPStatus.INTERNAL_SERVER_ERROR,
        title="The server failed",
        remedy="Nothing of the request was kept. Try again; if it fails again, tell the operator.",
    ),
    ProblemType(
        slug="busy",
        status=HTTPStatus.SERVICE_UNAVAILABLE,
        title="Others are writing at the moment",
        remedy="Nothing of the request was kept. Send it again in as many seconds as `Retry-After` "
        "says.",
    ),
    ProblemType(
        slug="request-failed",
        status=HTTPStatus.BAD_REQUEST,
        title="The request could not be served",
        remedy="The status and the detail say why.",
    ),
)

PROBLEM_TYPES = {problem.slug: problem for problem in _ALL}


def as_markdown() -> str:
    """Return the kinds of problem as README.md shows them."""
    rows = [(f"`{each.slug}`", str(int(each.status)), each.title) for each in _ALL]
    lines = [("problem", "status", "what it says"), ("---", "---", "---"), *rows]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines)
