#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""validate_json.py SCHEMA FILE... : exits 0 when every FILE is a valid result.

Stricter than JSON itself: no NaN or infinity, no key twice in an object.
"""
import json
import sys

try:
    import jsonschema
except ImportError:
    sys.exit("validate_json.py needs the package python3-jsonschema "
             "(tools/install_packages.sh installs it)")


def refuse_constant(name):
    raise ValueError(f"{name} is not a JSON number")


def refuse_repeated_keys(pairs):
    keys = [key for key, _ in pairs]
    repeated = {key for key in keys if keys.count(key) > 1}
    if repeated:
        raise ValueError(f"repeated keys: {sorted(repeated)}")
    return dict(pairs)


def load(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file, parse_constant=refuse_constant,
                         object_pairs_hook=refuse_repeated_keys)


def main(schema_path, paths):
    if not paths:
        sys.exit("validate_json.py: no file to validate")
    schema = load(schema_path)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    wrong = 0
    for path in paths:
        try:
            errors = list(validator.iter_errors(load(path)))
        except ValueError as error:
            print(f"{path}: {error}")
            wrong += 1
            continue
        for error in errors:
            place = "/".join(str(part) for part in error.absolute_path)
            print(f"{path}: /{place}: {error.message}")
        wrong += bool(errors)
    return 1 if wrong else 0


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    sys.exit(main(sys.argv[1], sys.argv[2:]))
