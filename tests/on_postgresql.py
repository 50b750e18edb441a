"""Runs the tests that touch the database once more on PostgreSQL, where COATROUND_TEST_DATABASE names a server."""

import os
import subprocess
import sys
from pathlib import Path

FOLDERS = ["tests/web", "tests/demo", "tests/test_dump.py"]


def main() -> int:
    address = os.environ.get("COATROUND_TEST_DATABASE", "")
    if not address:
        must = os.environ.get("COATROUND_TEST_ALL") == "yes"
        word = "FAILED" if must else "SKIPPED"
        print(
            f"{word}: the tests on PostgreSQL. Name a server in COATROUND_TEST_DATABASE (postgresql://user@host:port/name)."
        )
        return 1 if must else 0
    print("The same tests on PostgreSQL:", flush=True)
    environment = {**os.environ, "COATROUND_DATABASE": address}
    there = [folder for folder in FOLDERS if Path(folder).exists()]
    return subprocess.call([sys.executable, "-m", "pytest", "-n", "2", "-m", "not browser", *there], env=environment)


if __name__ == "__main__":
    sys.exit(main())
