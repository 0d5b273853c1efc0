"""The ponds in a browser: pages and a JSON API over the same stages as the shell.

This floor stands above ``cli`` because a page shows the very tables that a command prints; the list of commands names
the module by its name alone.
"""
