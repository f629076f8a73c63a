"""Files as the body of a request and of an answer: the bytes as they are."""

from collections.abc import Mapping
from typing import IO, Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request

from api.rendering import as_json
from maintenance.services.checks.attachments import MEDIA_TYPES as ATTACHED

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
#: The media type of each form of file.
MEDIA_TYPES = {"csv": "text/csv", "xlsx": XLSX, "json": "application/json"}
#: How a file of each media type may begin; a workbook is an archive and has no text.
EXAMPLES = {
    MEDIA_TYPES["csv"]: "registration,on,component,action\r\nEX-101,2026-11-05,coolant,renew\r\n",
    MEDIA_TYPES["xlsx"]: "PK (the bytes of the workbook)",
    MEDIA_TYPES["json"]: '{"vehicles": []}',
}


class FileParser(BaseParser):
    """Hands the body on as bytes; it is read no further than the largest file taken."""

    # The library's types know of mappings alone.
    def parse(  # type: ignore[override]
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        limit = max(settings.SPREADSHEET_FILE_LIMIT, settings.HISTORY_FILE_LIMIT)
        body = stream.read(limit + 1)
        if len(body) > limit:
            raise RequestDataTooBig
        return body


class CsvParser(FileParser):
    media_type = MEDIA_TYPES["csv"]


class XlsxParser(FileParser):
    media_type = MEDIA_TYPES["xlsx"]


class HistoryParser(FileParser):
    media_type = MEDIA_TYPES["json"]


class AttachmentParser(FileParser):
    """Reads no further than the largest attachment taken, and one byte to tell a larger one."""

    def parse(  # type: ignore[override]
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        body = stream.read(settings.ATTACHMENT_LIMIT + 1)
        if len(body) > settings.ATTACHMENT_LIMIT:
            raise RequestDataTooBig
        return body


def attachment_parsers() -> list[type[AttachmentParser]]:
    """Return a parser for each media type that may be attached."""
    return [
        type("AttachmentParser", (AttachmentParser,), {"media_type": media_type})
        for media_type in ATTACHED
    ]


class FileRenderer(BaseRenderer):
    """Sends bytes as they are, and a refusal as JSON."""

    media_type = "*/*"
    format = "file"
    charset = None
    render_style = "binary"

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        return data if isinstance(data, bytes) else as_json(data)


class AsItIs(BaseContentNegotiation):
    """A file has the form in which it was made, whatever the client would rather have."""

    def select_parser(self, request: Request, parsers: Any) -> Any:
        return parsers[0]

    def select_renderer(self, request: Request, renderers: Any, format_suffix: Any = None) -> Any:
        return renderers[0], renderers[0].media_type
