"""The descriptions of what comes from the field, for the JSON API: whole, for they have no room for parts."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from plumeline.files.field_items import BODIES, FieldItem

ITEM = "one item, format 1; its hash is taken of these bytes; its id is that of the address"


def item_schema() -> dict[str, Any]:
    """Return the schema of an item: one shape for each kind, the body that of the kind."""
    whole = whole_schema(FieldItem)
    kinds = []
    for kind, body in BODIES.items():
        own = {"kind": {"const": kind, "type": "string"}, "body": whole_schema(body)}
        kinds.append({**whole, "title": f"item: {kind}", "properties": {**whole["properties"], **own}})
    return {"anyOf": kinds}


def whole_schema(model: type[BaseModel]) -> dict[str, Any]:
    """Return the schema of a model with what it refers to put in its place."""
    schema = model.model_json_schema()
    parts = schema.pop("$defs", {})

    def placed(value: Any) -> Any:
        if isinstance(value, list):
            return [placed(one) for one in value]
        if not isinstance(value, dict):
            return value
        named = value.get("$ref", "").rpartition("/")[2] if isinstance(value.get("$ref"), str) else ""
        return placed(parts[named]) if named else {key: placed(one) for key, one in value.items()}

    found: dict[str, Any] = placed(schema)
    return found
