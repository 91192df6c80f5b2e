"""`python -m bridge2d`: the same door as the command `bridge2d`."""

import sys

from bridge2d.cli import main

if __name__ == "__main__":
    sys.exit(main())
