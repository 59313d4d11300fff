"""The schemas that ship in the package, and a stricter reading of them."""

import json
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from referencing import Registry, Resource

import kb

FOLDER = Path(kb.__file__).parent / "schemas"
SCHEMAS = {path.stem: json.loads(path.read_text("utf-8")) for path in FOLDER.glob("*.json")}


def closed(tree: Any) -> Any:
    """Return a schema that also refuses keys it does not describe."""
    if isinstance(tree, list):
        return [closed(one) for one in tree]
    if not isinstance(tree, dict):
        return tree
    found = {key: closed(value) for key, value in tree.items()}
    if found.get("type") == "object" and "properties" in found:
        found.setdefault("additionalProperties", False)
    return found


_REGISTRY: Registry[Any] = Registry().with_resources(
    (schema["$id"], Resource.from_contents(closed(schema))) for schema in SCHEMAS.values()
)


def faults(name: str, tree: Any) -> list[str]:
    """Return where an object departs from its schema, undescribed keys included."""
    checker = Draft202012Validator(closed(SCHEMAS[name]), registry=_REGISTRY)
    return [f"{list(e.absolute_path)}: {e.message[:200]}" for e in checker.iter_errors(tree)]
