"""The port of the pages; apart, so that the command line loads nothing else."""

PORT = 8621
