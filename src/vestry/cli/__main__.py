"""`python -m vestry.cli`."""

import sys

from vestry.cli import main

sys.exit(main())
