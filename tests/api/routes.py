"""Every address of the service, and what can be asked of it."""

from dataclasses import dataclass

from django.urls import get_resolver

NOWHERE = "01931b5e-7b00-7b22-8a3b-1c2d3e4f5061"
METHODS = ("get", "head", "post", "put", "patch", "delete", "options")


@dataclass(frozen=True)
class Route:
    """An address of a noun: its path with a place for the identifier, and its calls by method."""

    path: str
    noun: str
    detail: bool
    calls: dict[str, str]
    view: type

    def __str__(self):
        return self.path

    def at(self, pk):
        return f"/{self.path.replace('<uuid:pk>', str(pk)).replace('<slug:slug>', str(pk))}"

    def verb(self, call):
        return self.view.verbs[call]

    def example(self, call):
        """Return the body that the OpenAPI document shows for a call."""
        view = self.view(basename=self.noun, action=call, action_map=self.calls)
        view.request = None
        return view.example_request(call)


def all_addresses():
    """Return every pattern but the operators' admin, as (path, name, callback)."""
    return list(_within(get_resolver("deploy.urls").url_patterns, ""))


def routes_of_nouns():
    """Return the routes on which roles decide."""
    return [
        Route(
            path, callback.initkwargs["basename"], callback.initkwargs["detail"], dict(calls), view
        )
        for path, _, callback in all_addresses()
        if (calls := getattr(callback, "actions", None)) and (view := callback.cls)
    ]


def _within(patterns, before):
    for each in patterns:
        path = before + str(each.pattern)
        if not hasattr(each, "url_patterns"):
            yield path, each.name, each.callback
        elif each.app_name != "admin":
            yield from _within(each.url_patterns, path)
