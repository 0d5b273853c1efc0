"""``python -m plumeline`` is the same program as ``plumeline``."""

import sys

from plumeline.cli import main

if __name__ == "__main__":
    sys.exit(main())
