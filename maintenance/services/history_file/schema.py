"""The format of a history file as a JSON Schema, drawn from the code that reads it.

Run as a module it prints the schema, to be kept in `fixtures/history.schema.json`.
"""

import json
import sys
from typing import Any

from maintenance.services.history_file.shape import HistoryFile

_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def history_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a history file."""
    schema = HistoryFile.model_json_schema(by_alias=True)
    for definition in (schema, *schema["$defs"].values()):
        for member in definition["properties"].values():
            # Every key may be left out or null; saying so by a default of null adds nothing.
            member.pop("default", None)
            member.pop("title", None)
    return {"$schema": _DIALECT, **schema, "title": "History file"}


def schema_text() -> str:
    """Return the schema as it is kept in its file."""
    return json.dumps(history_schema(), indent=2) + "\n"


if __name__ == "__main__":
    sys.stdout.write(schema_text())
