"""What a result rests on, as one hash: the same inputs, the same hash, on every machine."""

from __future__ import annotations

import hashlib

import plumeline
from plumeline.job.document import Job


def inputs_sha256(job: Job) -> str:
    """Return the SHA-256 of a job's document as it was computed with, its day included; its id is no input."""
    return hashlib.sha256(job.model_dump_json(exclude={"id"}).encode()).hexdigest()


def origin(job: Job) -> dict[str, str]:
    """Return what every result carries: by which program, from which inputs."""
    return {"made_by": f"plumeline {plumeline.__version__}", "inputs_sha256": inputs_sha256(job)}
