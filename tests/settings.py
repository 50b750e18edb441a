"""The application's settings with a home folder of its own that goes with the tests."""

import atexit
import os
import shutil
import tempfile

_home = tempfile.mkdtemp(prefix="coatround-tests-")
atexit.register(shutil.rmtree, _home, ignore_errors=True)
os.environ["COATROUND_HOME"] = _home
os.environ.pop("COATROUND_TODAY", None)

from coatround.web.settings import *  # noqa: E402, F403

SECRET_KEY = "tests-only"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
