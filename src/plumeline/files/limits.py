"""Limits of a field, read from the job document itself, and the words for a value beyond them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

from pydantic import BaseModel


@dataclass(frozen=True)
class Limits:
    """Smallest and greatest allowed value; ``above`` excludes the smallest itself."""

    low: float = -math.inf
    high: float = math.inf
    above: bool = False

    def broken_by(self, value: float, unit: str) -> str:
        """Return what is wrong with ``value``, with the limit, or an empty string."""
        if not math.isfinite(value):
            return "is not a finite number."
        shown = f"{value:.6g} {unit}".rstrip()
        if value > self.high:
            return f"{shown} is above the limit of {self.high:g} {unit}".rstrip() + "."
        if self.above and value <= self.low:
            return f"{shown} is not more than {self.low:g}."
        if value < self.low:
            return f"{shown} is below the limit of {self.low:g} {unit}".rstrip() + "."
        return ""


@cache
def _properties(model: type[BaseModel]) -> dict[str, Any]:
    schema: dict[str, Any] = model.model_json_schema()
    found: dict[str, Any] = schema.get("properties", {})
    return found


@cache
def limits_of(model: type[BaseModel], name: str) -> Limits:
    """Return the limits that the document sets on a number."""
    entry = _properties(model)[name]
    for part in (entry, *entry.get("anyOf", ())):
        if part.get("type") in ("number", "integer"):
            return Limits(
                low=part.get("minimum", part.get("exclusiveMinimum", -math.inf)),
                high=part.get("maximum", math.inf),
                above="exclusiveMinimum" in part,
            )
    return Limits()
