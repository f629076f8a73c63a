from django.apps import AppConfig
from django.conf import settings


class ApiConfig(AppConfig):
    name = "api"

    def ready(self) -> None:
        """Read the rate limits now, so that a slip in one stops the start and not a request."""
        from api.rate_limits import limit_of

        for text in filter(None, settings.RATE_LIMITS.values()):
            limit_of(text)
