"""Bytes of a file to text, with plain words for what is not text."""

from __future__ import annotations

from pathlib import Path

from plumeline.files.findings import Findings

LARGEST_BYTES = 64_000_000


def read_text(path: Path, findings: Findings) -> str | None:
    """Return the file as text with ``\\n`` line ends and no byte-order mark; None after adding a fault."""
    name = path.name
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            findings.fault(
                name,
                "",
                f"is {size / 1e6:.0f} MB; the limit is {LARGEST_BYTES / 1e6:.0f} MB.",
                "Thin the data first.",
            )
            return None
        data = path.read_bytes()
    except OSError as error:
        findings.fault(
            name, "", f"can't be read ({error.strerror}).", "Check that it is a file and readable."
        )
        return None
    return _decode(name, data, findings)


def _decode(name: str, data: bytes, findings: Findings) -> str | None:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        findings.fault(name, "", "is saved as UTF-16.", "Save it again as UTF-8 text.")
        return None
    if b"\x00" in data:
        findings.fault(
            name,
            "",
            "is not text: it holds binary data.",
            "Export it as plain text (a spreadsheet as CSV UTF-8).",
        )
        return None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
        findings.fault(
            name,
            f"row {row}",
            f"holds a byte that is not UTF-8 (0x{data[error.start]:02x}).",
            "Save the file as UTF-8 (in a spreadsheet: CSV UTF-8).",
        )
        return None
    if not text.strip():
        remedy = "Fill it, or delete it: every file but job.toml may be left out."
        if name == "job.toml":
            remedy = "Fill it; a blank one is written by: plumeline new NEW_FOLDER."
        findings.fault(name, "", "is empty.", remedy)
        return None
    return text.replace("\r\n", "\n").replace("\r", "\n")
