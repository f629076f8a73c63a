"""Logs as one JSON object a line, without personal data.

Rows are named by identifier. What could still name a person or open a door, in a text that some
library wrote, is taken out on the way: e-mail addresses, access tokens, secret addresses.
"""

import re
from typing import Any

import structlog
from structlog.typing import EventDict, Processor, WrappedLogger

_SECRETS = (
    (re.compile(r"[^\s<>\"'(\[,;=]+@[^\s<>\"'),;:\]]+"), "<address>"),
    (re.compile(r"\bidle_[\w-]+"), "<token>"),
    (re.compile(r"(/(?:unsubscribe|calendar-feeds|calendar)/)[^\s\"'/?]+"), r"\1<secret>"),
    (re.compile(r"(/(?:invitations|new-password)/)[^\s\"'?]+"), r"\1<secret>"),
    # PostgreSQL tells the values of a row with the rule that it broke.
    (re.compile(r"(DETAIL: ).*"), r"\1<row>"),
)


def without_personal_data(_: WrappedLogger, __: str, event: EventDict) -> EventDict:
    """Take addresses, tokens and secrets out of every text of a log line."""
    return {key: _scrubbed(value) for key, value in event.items()}


def _scrubbed(value: Any) -> Any:
    if isinstance(value, str):
        for pattern, instead in _SECRETS:
            value = pattern.sub(instead, value)
        return value
    if isinstance(value, dict):
        return {key: _scrubbed(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_scrubbed(inner) for inner in value]
    return value


_SHARED: list[Processor] = [
    structlog.contextvars.merge_contextvars,
    structlog.stdlib.add_logger_name,
    structlog.stdlib.add_log_level,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
]


def logging_config(level: str) -> dict[str, Any]:
    """Return Django's LOGGING, and have structlog write through it."""
    structlog.configure(
        processors=[
            structlog.stdlib.filter_by_level,
            *_SHARED,
            structlog.stdlib.ProcessorFormatter.wrap_for_formatter,
        ],
        logger_factory=structlog.stdlib.LoggerFactory(),
        wrapper_class=structlog.stdlib.BoundLogger,
        cache_logger_on_first_use=True,
    )
    formatter = {
        "()": structlog.stdlib.ProcessorFormatter,
        "foreign_pre_chain": [*_SHARED, structlog.stdlib.ExtraAdder(allow=())],
        "processors": [
            structlog.stdlib.ProcessorFormatter.remove_processors_meta,
            # Plain text: with `rich` installed the default would print every local variable.
            structlog.processors.format_exc_info,
            without_personal_data,
            structlog.processors.JSONRenderer(default=str),
        ],
    }
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"json": formatter},
        "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "json"}},
        "root": {"handlers": ["console"], "level": level},
        "loggers": {"maintenance": {"level": "INFO" if level == "WARNING" else level}},
    }
