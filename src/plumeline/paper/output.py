"""Writing a plan: all of it or nothing, and never over somebody else's files."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from datetime import date
from pathlib import Path

from plumeline.errors import InputError
from plumeline.files.plan_files import FORMAT, plan_geojson, plan_json
from plumeline.paper.pictures import pictures_of
from plumeline.paper.render import render
from plumeline.stages.plan import Plan
from plumeline.units.showing import System

CHART_FILES = ("hypsograph", "start-up", "profiles", "risk")
FILES = (
    "plan.pdf", "plan.json", "plan.geojson", "plan-view.svg", "cut.svg",
    *(f"chart-{name}.svg" for name in CHART_FILES),
)  # fmt: skip
"""Every file of a plan."""
SOMETIMES = ("route.svg",)
"""Files of a plan whose job has a route on land."""


def plan_files(plan: Plan, system: System, day: date) -> dict[str, bytes]:
    """Return every file of a plan by name; the same plan gives the same bytes.

    Args:
        plan: the plan.
        system: units of paper, drawings and charts; plan.json is always SI.
        day: the only clock, in the PDF's metadata too.
    """
    pictures = pictures_of(plan, system)
    texts = {"plan.json": plan_json(plan, day), "plan.geojson": plan_geojson(plan), **pictures.texts}
    found = {"plan.pdf": render(plan, day, system, pictures)}
    found.update({name: text.encode() for name, text in texts.items()})
    return found


def write_plan(plan: Plan, out: Path, system: System, day: date) -> None:
    """Write a plan's folder, in place of an older one of ours.

    Everything is written into a folder beside it that is then renamed, so no half-written plan stays, and the
    older plan is there until the new one is whole.

    Args:
        plan: the plan.
        out: the folder; its parent is made where it is missing.
        system: units of paper, drawings and charts.
        day: the day of the work.

    Raises:
        InputError: something is there that is not a plan of ours, or holds files that are not of a plan.
        OSError: it can't be written.
    """
    out = Path(os.path.realpath(out))
    check_place(out)
    contents = plan_files(plan, system, day)
    out.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=f".{out.name}.new-", dir=out.parent))
    try:
        fresh.chmod(0o755)
        for name, data in contents.items():
            (fresh / name).write_bytes(data)
        _swap(fresh, out)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _swap(fresh: Path, out: Path) -> None:
    """Put the new folder in the place of the old one, and the old one back where that fails."""
    if not out.exists():
        fresh.rename(out)
        return
    keep = Path(tempfile.mkdtemp(prefix=f".{out.name}.old-", dir=out.parent))
    try:
        out.rename(keep / out.name)
        try:
            fresh.rename(out)
        except BaseException:
            (keep / out.name).rename(out)
            raise
    finally:
        shutil.rmtree(keep, ignore_errors=True)


def check_place(out: Path) -> None:
    """Refuse a place for a plan where something else is; asked before the minutes of work too.

    Raises:
        InputError: something is there that is not a plan of ours, or holds files that are not of a plan.
    """
    if not out.exists():
        return
    if not out.is_dir():
        raise InputError(
            "a file of that name is there.", remedy="Name a folder that is not there yet.", place=str(out)
        )
    names = {item.name for item in out.iterdir()}
    if not names:
        return
    strangers = sorted(names - {*FILES, *SOMETIMES})
    if strangers or not _is_ours(out):
        what = f"holds {', '.join(strangers[:4])}" if strangers else "holds no plan"
        raise InputError(
            f"the folder {what}, so it is not replaced.",
            remedy="Name another folder, or move those files away.",
            place=str(out),
        )


def _is_ours(out: Path) -> bool:
    """Return whether a folder holds a plan that this program wrote."""
    try:
        document = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(document, dict) and document.get("format") == FORMAT
