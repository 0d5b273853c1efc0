"""Results as JSON, as the files write them: see ``files/json_values.py``."""

from plumeline.files.json_values import json_value

__all__ = ["json_value"]
