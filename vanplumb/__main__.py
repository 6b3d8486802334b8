"""``python -m vanplumb``: the same as the command ``vanplumb``."""

import sys

from .cli import main

sys.exit(main())
