"""``python -m hangarc``."""

import sys

from hangarc.cli import main

sys.exit(main())
