"""The plan on paper: plan.pdf by Typst, and the folder with everything that is handed over."""

from plumeline.paper.output import write_plan
from plumeline.paper.render import render

__all__ = ["render", "write_plan"]
