"""For developers: Django's own commands (makemigrations, check, shell)."""

import os
import sys
from pathlib import Path

from django.core.management import execute_from_command_line

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent / "src"))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coatround.web.settings")
    from coatround import home

    home.prepare(home.home_folder())
    execute_from_command_line(sys.argv)
