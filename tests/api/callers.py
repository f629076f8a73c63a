"""Another program that calls the API over HTTP with a token."""

from django.test import Client

from tests.factories import AccessTokenFactory


class Caller:
    """Sends JSON below /api/v1/ as one account; the answers are Django's own."""

    def __init__(self, account, scope="manage"):
        self.account = account
        token = AccessTokenFactory(account=account, scope=scope)
        self.client = Client(headers={"Authorization": f"Bearer idle_{token.name}"})

    def get(self, path, query=None, **headers):
        return self.client.get(self._at(path), query or {}, headers=_named(headers))

    def post(self, path, body, **headers):
        return self.client.post(
            self._at(path), body, content_type="application/json", headers=_named(headers)
        )

    def patch(self, path, body, **headers):
        return self.client.patch(
            self._at(path), body, content_type="application/json", headers=_named(headers)
        )

    def delete(self, path, **headers):
        return self.client.delete(self._at(path), headers=_named(headers))

    def items(self, path, query=None):
        return self.get(path, query).json()["items"]

    @staticmethod
    def _at(path):
        return path if path.startswith(("/", "http")) else f"/api/v1/{path}"


def _named(headers):
    return {name.replace("_", "-"): value for name, value in headers.items()}


def pointers(answer):
    """Return the places in the request that a refusal names."""
    return {line["pointer"] for line in answer.json()["errors"]}
