"""Compiled loops over the relations of the ground floor."""
