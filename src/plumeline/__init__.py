"""Plumeline: from the survey of a stratified pond to the aeration start-up plan."""

__version__ = "0.1.0"
