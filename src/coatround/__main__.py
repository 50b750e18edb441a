"""Lets `python -m coatround` be the command."""

import sys

from coatround.cli import main

sys.exit(main())
