"""Holds what a server answered to what its description says, with a general validator of JSON Schema (2020-12, the
dialect of OpenAPI 3.1): check_description.py FILE. Prints what does not fit; exit code 1 then."""

import json
import sys

import jsonschema


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        given = json.load(file)
    description = given["description"]
    faults = []
    if not description["openapi"].startswith("3.1."):
        faults.append("not OpenAPI 3.1")
    names = [o["operationId"] for path in description["paths"].values() for o in path.values()]
    if len(names) != len(set(names)):
        faults.append("two operations of one name")
    components = description["components"]["schemas"]
    for name, schema in components.items():
        jsonschema.Draft202012Validator.check_schema(schema)
    text = json.dumps(description)
    for name in components:
        if f"#/components/schemas/{name}\"" not in text:
            faults.append(f"nothing uses the schema {name}")

    def validate(schema, instance, what):
        # References lead into the description, as "#/components/...".
        whole = {"$ref": "#/root", "root": schema, "components": description["components"]}
        for error in jsonschema.Draft202012Validator(whole).iter_errors(instance):
            faults.append(f"{what}: {error.json_path}: {error.message[:200]}")

    for one in given["asked"]:
        what = f"{one['method']} {one['pattern']} {one['status']}"
        operation = description["paths"][one["pattern"]][one["method"].lower()]
        if one["sent"]:
            content = operation["requestBody"]["content"]["application/json"]
            validate(content["schema"], json.loads(one["sent"]), what + " (sent)")
        if one["status"] == 200:
            answer = operation["responses"]["200"]["content"]
            if one["type"] not in answer:
                faults.append(f"{what}: it answers {one['type']}")
                continue
            schema = answer[one["type"]].get("schema")
        else:
            if one["type"] != "application/problem+json":
                faults.append(f"{what}: it answers {one['type']}")
                continue
            schema = components["Problem"]
        if schema:
            validate(schema, json.loads(one["body"]), what)
    for fault in faults:
        print(fault)
    return 1 if faults else 0


sys.exit(main())
