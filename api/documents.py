"""The documents of the API itself: OpenAPI, the pages drawn from it, and the problem types."""

from dataclasses import asdict
from typing import Any

from django.http import Http404
from django.urls import Resolver404, resolve
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularJSONAPIView, SpectacularSwaggerSplitView
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.problem_types import PROBLEM_TYPES, ProblemType
from api.problems import Refusal


class OpenAPI(SpectacularJSONAPIView):
    """The OpenAPI 3.1 document."""


class Docs(SpectacularSwaggerSplitView):
    """Pages to read and try the API, their scripts served from here and no outside host."""

    url_name = "openapi"
    template_name = "api/docs.html"


class _Public(APIView):
    """An answer that is the same for everybody, signed in or not."""

    permission_classes = [AllowAny]
    authentication_classes: list[Any] = []
    http_method_names = ["get", "head"]


@extend_schema(exclude=True)
class ProblemTypes(_Public):
    """Every kind of refusal a client can meet."""

    def get(self, request: Request) -> Response:
        return Response({"items": [_explained(each) for each in PROBLEM_TYPES.values()]})


@extend_schema(exclude=True)
class ProblemTypePage(_Public):
    """One kind of refusal: what it means and what to do about it."""

    def get(self, request: Request, slug: str) -> Response:
        if slug not in PROBLEM_TYPES:
            raise Http404
        return Response(_explained(PROBLEM_TYPES[slug]))


def _explained(kind: ProblemType) -> dict[str, Any]:
    return {"type": kind.address, **asdict(kind), "status": int(kind.status)}


@extend_schema(exclude=True)
class NoSuchAddress(APIView):
    """Takes every address below /api/ that nothing else takes, whatever the method."""

    permission_classes = [AllowAny]
    authentication_classes: list[Any] = []

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        path, bare = request.path, request.path_info.rstrip("/")
        hint = ""
        if bare != request.path_info and _is_taken(bare):
            hint = f" Addresses have no slash at the end: {path.rstrip('/')}"
        raise Refusal("not-found", f"There is nothing at {path}.{hint}")


def _is_taken(path: str) -> bool:
    """Say whether there is an address of this form; not whether what it names is there."""
    try:
        return resolve(path).url_name != "no-such-address"
    except Resolver404:
        return False
