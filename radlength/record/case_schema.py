"""The JSON Schema (2020-12) of a case, made from the models and kept as a file in the package.

After a change of the models write the file again: ``python -m radlength.record.case_schema``. What a schema cannot say
(nothing before what it speaks of, nothing replaced twice) is in :mod:`radlength.record.case_checks`.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from radlength.record.case import Case
from radlength.record.case_models import CASE_FORMAT, CASE_VERSION
from radlength.record.schema import SEAL, TOOTH_PATTERN
from radlength.record.seal import KEY

SCHEMA_FILE = Path(__file__).parent / "schema" / f"{CASE_FORMAT}-{CASE_VERSION}.schema.json"


def case_schema() -> dict[str, Any]:
    """Return the schema that the models give.

    Examples
    --------
    >>> case_schema()["additionalProperties"]
    False
    """
    schema = Case.model_json_schema(mode="validation")
    schema["$defs"]["CanalAdded"]["properties"]["tooth"]["pattern"] = TOOTH_PATTERN
    for event in schema["$defs"].values():
        if "kind" in event.get("properties", {}):
            event["required"] = ["kind", *event.get("required", [])]
    schema["properties"][KEY] = SEAL
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:{CASE_FORMAT}:{CASE_VERSION}",
    }
    return {**head, **schema}


def case_schema_text() -> str:
    """Return the text of the schema file."""
    return json.dumps(case_schema(), indent=1, ensure_ascii=False) + "\n"


def write_case_schema(path: Path = SCHEMA_FILE) -> Path:
    """Write the schema file and return where it is."""
    path.write_bytes(case_schema_text().encode())
    return path


if __name__ == "__main__":
    write_case_schema(Path(sys.argv[1]) if len(sys.argv) > 1 else SCHEMA_FILE)
