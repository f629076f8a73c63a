"""JSON pointers (RFC 6901) into a request's body, from the shapes in which DRF names places."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from rest_framework.settings import api_settings


def pointer(steps: Iterable[object]) -> str:
    """Return the pointer of a path, its steps escaped as RFC 6901, section 3, asks."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in steps)


def errors_by_pointer(detail: Any, steps: tuple[object, ...] = ()) -> Iterator[dict[str, str]]:
    """Flatten a serializer's nested errors into one line for each place."""
    if isinstance(detail, Mapping):
        for key, inner in detail.items():
            whole = key == api_settings.NON_FIELD_ERRORS_KEY
            yield from errors_by_pointer(inner, steps if whole else (*steps, key))
    elif isinstance(detail, list):
        for place, inner in enumerate(detail):
            # A list of texts says several things of one place; a list of lists or objects
            # mirrors a list in the request.
            nested = isinstance(inner, Mapping | list)
            yield from errors_by_pointer(inner, (*steps, place) if nested else steps)
    else:
        yield {"pointer": pointer(steps), "detail": str(detail)}
