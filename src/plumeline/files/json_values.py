"""Any result as JSON: SI numbers under the names of the fields, which carry their units."""

from __future__ import annotations

import dataclasses
import math
from datetime import date
from enum import Enum
from typing import Any

import numpy as np
from pydantic import BaseModel

LEFT_OUT = frozenset({"grid", "volume_cases"})
"""Fields that are not for reading: the depth surface by the cell, and the surfaces that were weighed."""

RENAMED = {"risk_upper95_fraction": "risk_upper95"}
"""Fields whose key in the documents is fixed by the format."""


def json_value(value: Any) -> Any:
    """Return a value as JSON can hold it.

    Dataclasses and pydantic values become objects, tuples and arrays become lists, dates and times ISO 8601,
    enumerations their values; NaN and infinity become null. Grids are left out. Coordinates of the local
    plane, ``*_xy`` inside, are ``*_xy_m``.
    """
    if isinstance(value, BaseModel):
        return json_value({name: getattr(value, name) for name in type(value).model_fields})
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return json_value({field.name: getattr(value, field.name) for field in dataclasses.fields(value)})
    if isinstance(value, dict):
        return {_key(str(name)): json_value(part) for name, part in value.items() if name not in LEFT_OUT}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, np.ndarray | np.generic):
        return json_value(value.tolist())
    if isinstance(value, tuple | list):
        return [json_value(part) for part in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _key(name: str) -> str:
    name = RENAMED.get(name, name)
    return f"{name}_m" if name.endswith("_xy") else name
