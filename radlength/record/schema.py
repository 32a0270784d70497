"""The JSON Schema (2020-12) of the record; ``python -m radlength.record.schema`` writes the file in the package."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from radlength.record.models import VERSION
from radlength.record.record import Record

SCHEMA_FILE = Path(__file__).with_name(f"radlength-record-{VERSION}.schema.json")


def record_schema() -> dict[str, Any]:
    """Return the schema that the models give."""
    schema = Record.model_json_schema(mode="validation")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def schema_text() -> str:
    """Return the text of the schema file."""
    return json.dumps(record_schema(), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")
