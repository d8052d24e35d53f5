"""`python -m breadproof` is the same as `breadproof`."""

import sys

from breadproof.cli import main

if __name__ == "__main__":
    sys.exit(main())
