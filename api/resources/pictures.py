"""Pictures over HTTP: how they are rendered and described."""

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiResponse
from rest_framework.renderers import BaseRenderer

from api.openapi import NounSchema
from api.rendering import as_json


class SvgRenderer(BaseRenderer):
    """Sends the text of a picture; a refusal on the way to it is sent as JSON all the same."""

    media_type = "image/svg+xml"
    format = "svg"
    charset = "utf-8"

    def render(self, data: Any, *args: Any, **kwargs: Any) -> bytes:
        return data.encode() if isinstance(data, str) else as_json(data)


_EXAMPLE = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 576 288"></svg>'


class PictureSchema(NounSchema):
    """Describes a call that answers a picture."""

    def get_examples(self) -> list[OpenApiExample]:
        return [
            OpenApiExample(
                "picture", _EXAMPLE, response_only=True, media_type=SvgRenderer.media_type
            )
        ]

    def get_response_serializers(self) -> Any:
        answers = super().get_response_serializers()
        picture = OpenApiResponse(OpenApiTypes.STR, "The picture.")
        return {("200", SvgRenderer.media_type): picture} | {
            key: value for key, value in answers.items() if key != "200"
        }
