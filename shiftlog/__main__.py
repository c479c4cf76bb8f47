"""`python -m shiftlog` is `shiftlog`."""

import sys

from shiftlog.cli import main

sys.exit(main())
