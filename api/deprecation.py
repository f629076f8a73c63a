"""What is going to be taken away, told with every answer that still has it.

`Deprecation` is that of RFC 9745 and `Sunset` that of RFC 8594; README.md has the policy.
"""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.http import http_date


@dataclass(frozen=True, kw_only=True)
class Deprecated:
    """Since when something is deprecated, when it goes, and where is told what to use instead."""

    since: datetime.datetime
    gone: datetime.datetime
    told_at: str

    def headers(self) -> dict[str, str]:
        """Return the headers of an answer that still has it."""
        return {
            "Deprecation": f"@{int(self.since.timestamp())}",
            "Sunset": http_date(self.gone.timestamp()),
            "Link": f'<{self.told_at}>; rel="deprecation"; type="text/html"',
        }


def told_of(calls: Mapping[str, Deprecated], call: str | None, links: str | None) -> dict[str, str]:
    """Return the headers for a call of a view, beside the links that its answer has already."""
    found = calls.get(call or "")
    if found is None:
        return {}
    said = found.headers()
    return said | ({"Link": f"{links}, {said['Link']}"} if links else {})
