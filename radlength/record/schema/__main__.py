"""Write the schema file of the package again: ``python -m radlength.record.schema``, or another file by its path."""

import sys
from pathlib import Path

from radlength.record.schema import SCHEMA_FILE, write_schema

if __name__ == "__main__":
    write_schema(Path(sys.argv[1]) if len(sys.argv) > 1 else SCHEMA_FILE)
