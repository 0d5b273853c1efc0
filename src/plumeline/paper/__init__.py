"""Printed papers, typeset with Typst."""
