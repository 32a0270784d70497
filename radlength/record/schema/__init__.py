"""The JSON Schema (2020-12) of the record, made from the models and kept as a file in the package.

After a change of the models write the file again: ``python -m radlength.record.schema``. What a schema cannot say
(points inside the image, names once) is in :mod:`radlength.record.checks`.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from radlength.record.models import FORMAT, VERSION
from radlength.record.record import Record
from radlength.record.seal import KEY

SCHEMA_FILE = Path(__file__).with_name(f"{FORMAT}-{VERSION}.schema.json")
SEAL = {
    "type": "string",
    "pattern": "^[0-9a-f]{64}$",
    "description": "SHA-256 of every byte before the comma before this member; the last of the file, may be missing",
}
"""The member that a file ends with; see :mod:`radlength.record.seal`."""
TOOTH_PATTERN = "^([1-4][1-8]|[5-8][1-5])$"
"""ISO 3950: two digits, permanent and deciduous."""


def record_schema() -> dict[str, Any]:
    """Return the schema that the models give.

    Examples
    --------
    >>> record_schema()["additionalProperties"]
    False
    """
    schema = Record.model_json_schema(mode="validation")
    marks = schema["$defs"]
    marks["Canal"]["properties"]["tooth"]["pattern"] = TOOTH_PATTERN
    marks["Canal"]["properties"]["name"]["minLength"] = 1
    for mark in ("Canal", "Reference"):
        marks[mark]["properties"]["path_px"]["minItems"] = 2
    schema["properties"][KEY] = SEAL
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:{FORMAT}:{VERSION}",
        **schema,
    }


def schema_text() -> str:
    """Return the text of the schema file."""
    return json.dumps(record_schema(), indent=1, ensure_ascii=False) + "\n"


def write_schema(path: Path = SCHEMA_FILE) -> Path:
    """Write the schema file and return where it is."""
    path.write_bytes(schema_text().encode())
    return path
