"""Validates documents against a JSON Schema with python3-jsonschema (Debian 12: 4.10).

usage: validate_documents.py SCHEMA DOCUMENTS

DOCUMENTS holds one JSON document a line. Prints one line for each: "valid" or "refused". The schema is
checked against its own meta-schema first.
"""

import json
import sys

import jsonschema


def main() -> int:
    schema_path, documents_path = sys.argv[1:]
    with open(schema_path, encoding="utf-8") as file:
        schema = json.load(file)
    kind = jsonschema.validators.validator_for(schema, default=None)
    if kind is not jsonschema.Draft202012Validator:
        print("the schema does not say which draft it follows", file=sys.stderr)
        return 1
    kind.check_schema(schema)
    validator = kind(schema)
    with open(documents_path, encoding="utf-8") as file:
        for line in file:
            print("valid" if validator.is_valid(json.loads(line)) else "refused")
    return 0


if __name__ == "__main__":
    sys.exit(main())
