"""Write the schema file of the package again: ``python -m radlength.record.schema``."""

from radlength.record.schema import write_schema

if __name__ == "__main__":
    write_schema()
