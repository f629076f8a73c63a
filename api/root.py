"""The root of the API: where its documents and its nouns are, for whoever begins with nothing."""

from collections.abc import Sequence
from typing import Any

from django.urls import reverse
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiExample, OpenApiResponse
from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.filters import refuse_unknown
from api.openapi import problem_answers

_AT = "https://cars.example/api/v1"
_EXAMPLE = {
    "openapi": f"{_AT}/openapi.json",
    "docs": f"{_AT}/docs/",
    "problems": f"{_AT}/problems",
    "nouns": {"vehicles": f"{_AT}/vehicles", "due-items": f"{_AT}/due-items"},
}


class RootSerializer(serializers.Serializer[Any]):
    """Addresses to begin at."""

    openapi = serializers.URLField(help_text="The OpenAPI document.")
    docs = serializers.URLField(help_text="Pages to read and try the API.")
    problems = serializers.URLField(help_text="Every kind of refusal, explained.")
    nouns = serializers.DictField(
        child=serializers.URLField(), help_text="Address of each noun; these take a token."
    )


class RootSchema(AutoSchema):
    """Describes the one call that is of no noun."""

    def get_operation_id(self) -> str:
        return "read_root"

    def get_summary(self) -> str:
        return "Find the documents and the nouns"

    def get_tags(self) -> list[str]:
        return ["root"]

    def get_response_serializers(self) -> Any:
        problems = problem_answers(("invalid-query", "not-acceptable", "too-many-requests"))
        return {"200": OpenApiResponse(RootSerializer, "As asked."), **dict(problems)}

    def get_examples(self) -> list[OpenApiExample]:
        return [OpenApiExample("answer", _EXAMPLE, response_only=True, status_codes=["200"])]


class Root(APIView):
    """Where to find the documents and the nouns; the same for everybody, signed in or not."""

    permission_classes = [AllowAny]
    authentication_classes: list[Any] = []
    http_method_names = ["get", "head"]
    schema = RootSchema()
    #: As in the addresses of their lists.
    nouns: Sequence[str] = ()

    def get(self, request: Request) -> Response:
        refuse_unknown(request, ())
        at = request.build_absolute_uri
        documents = {name: at(reverse(name)) for name in ("openapi", "docs", "problems")}
        nouns = {noun: at(reverse(f"{noun}-list")) for noun in self.nouns}
        return Response({**documents, "nouns": nouns})
