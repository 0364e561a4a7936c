"""`python -m simulators.bluez`: the stand-in as a process of its own."""

import sys

from .service import main

if __name__ == "__main__":
    sys.exit(main())
